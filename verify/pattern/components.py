"""Connected components, and segments joined into lines: networkx takes longer to load than these to run."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Hashable, Iterable, Sequence
from typing import TypeVar

from verify.exact.plane import with_neighbours

_End = TypeVar("_End", bound=Hashable)


def components(count: int, joined: Iterable[tuple[int, int]]) -> list[list[int]]:
    """The numbers 0 … count - 1 in groups that the pairs join, each ascending, by their least members.

    >>> components(5, [(3, 1), (4, 3)])
    [[0], [1, 3, 4], [2]]
    """
    near: list[list[int]] = [[] for _ in range(count)]
    for a, b in joined:
        near[a].append(b)
        near[b].append(a)
    found = []
    met = [False] * count
    for first in range(count):
        if met[first]:
            continue
        met[first] = True
        part = [first]
        for member in part:
            for other in near[member]:
                if not met[other]:
                    met[other] = True
                    part.append(other)
        found.append(sorted(part))
    return found


def least_of_each(count: int, joined: Iterable[tuple[int, int]]) -> list[int]:
    """For each of the numbers 0 … count - 1 the least one of its group.

    >>> least_of_each(5, [(3, 1), (4, 3)])
    [0, 1, 2, 1, 1]
    """
    least = [0] * count
    for part in components(count, joined):
        for member in part:
            least[member] = part[0]
    return least


def chains(
    segments: Sequence[tuple[_End, _End]], is_corner: Callable[[_End, _End, _End], bool]
) -> tuple[list[tuple[_End, ...]], list[tuple[_End, ...]]]:
    """Segments joined into closed outlines and open lines, with ends only where they start, stop or have a corner."""
    ends: dict[_End, list[int]] = defaultdict(list)
    for number, (a, b) in enumerate(segments):
        ends[a].append(number)
        ends[b].append(number)
    left = set(range(len(segments)))
    paths = []
    for place in [p for p, at in ends.items() if len(at) != 2]:
        for number in ends[place]:
            if number in left:
                walk = _walk(place, number, segments, ends, left)
                kept = [b for a, b, c in zip(walk, walk[1:], walk[2:], strict=False) if is_corner(a, b, c)]
                paths.append((walk[0], *kept, walk[-1]))
    loops = []
    while left:
        number = min(left)
        walk = _walk(segments[number][0], number, segments, ends, left)[:-1]
        loops.append(tuple(b for a, b, c in with_neighbours(walk) if is_corner(a, b, c)))
    return loops, paths


def _walk(
    start: _End, number: int, segments: Sequence[tuple[_End, _End]], ends: dict[_End, list[int]], left: set[int]
) -> list[_End]:
    walk = [start]
    while number in left:
        left.remove(number)
        a, b = segments[number]
        here = b if a == walk[-1] else a
        walk.append(here)
        if len(ends[here]) != 2 or here == start:
            break
        one, two = ends[here]
        number = two if one == number else one
    return walk
