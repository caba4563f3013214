"""Names of places: those in the drawing, and new ones for all others."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from itertools import count

from verify.exact.plane import Point


def texts_of(place: Point) -> tuple[str, str]:
    """The coordinates of a place as a document has them. Exact."""
    return place.x.text(), place.y.text()


class Names:
    """Names of places of the sheet. One that is not `known` gets the first of p1, p2, … (`head`: p) that is not
    `taken`; `made` has these with the texts of their coordinates.
    """

    def __init__(
        self,
        known: Mapping[Point, str],
        taken: Iterable[str],
        head: str = "p",
        texts: Callable[[Point], tuple[str, str]] = texts_of,
    ) -> None:
        self.known, self.made = dict(known), dict[str, tuple[str, str]]()
        others = set(taken)
        self._fresh = (name for n in count(1) if (name := f"{head}{n}") not in others)
        self._texts = texts

    def of(self, place: Point) -> str:
        """The name of a place."""
        if place not in self.known:
            name = next(self._fresh)
            self.known[place], self.made[name] = name, self._texts(place)
        return self.known[place]
