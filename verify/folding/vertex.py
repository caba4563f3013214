"""What must hold round one vertex: Kawasaki–Justin, Maekawa–Justin, big-little-big, and all of it at once.

Angles are exact: an angle is a complex number up to a positive factor, so that adding is multiplying and
comparing is the sign of a cross product. No value of pi is used.

Sources: Kawasaki 1989, Justin 1989 (alternate sums); Maekawa (in Kasahara & Takahama 1987), Justin 1989
(|M - V| = 2); big-little-big and the count of assignments: Hull 2002, "The combinatorics of flat folds: a survey",
and Hull 2003, "Counting mountain-valley assignments for flat folds"; crimps: Demaine & O'Rourke 2007, ch. 12;
vertices on the edge of the sheet: Arkin et al. 2004, CGTA 29:23–46 (one-dimensional folding with ends).
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from functools import total_ordering
from itertools import pairwise, product
from math import comb
from operator import le
from typing import TYPE_CHECKING, Any, Literal, NamedTuple, cast

from verify.exact.number import ONE, ZERO, Number
from verify.exact.plane import Point, around, compare_directions, cross_vectors, difference, dot, with_neighbours
from verify.folding.foldmap import complex_product
from verify.pattern.limits import LimitReached
from verify.pattern.subdivision import Subdivision

if TYPE_CHECKING:
    import mpmath

Letter = Literal["mountain", "valley", "either"]
LIMIT_DEGREE = 16
_LISTED = 10


@total_ordering
@dataclass(frozen=True, eq=False)
class Angle:
    """An angle in [0°, 360°), exact: the direction of the complex number x + iy, not 0."""

    x: Number
    y: Number

    @property
    def way(self) -> Point:
        return Point(self.x, self.y)

    @staticmethod
    def turn(u: Point, w: Point) -> Angle:
        """The angle from one direction counter-clockwise to another."""
        return Angle(dot(u, w), cross_vectors(u, w))

    @staticmethod
    def zero() -> Angle:
        return Angle(ONE, ZERO)

    def __add__(self, other: Angle) -> Angle:
        return Angle(*complex_product(self.way, other.way))

    def __sub__(self, other: Angle) -> Angle:
        return Angle.turn(other.way, self.way)

    def __eq__(self, other: object) -> bool:
        if not isinstance(other, Angle):
            return NotImplemented
        return compare_directions(self.way, other.way) == 0

    def __lt__(self, other: Angle) -> bool:
        return compare_directions(self.way, other.way) < 0

    def __hash__(self) -> int:
        raise TypeError("an angle has no canonical form and no hash")

    @property
    def is_zero(self) -> bool:
        return self.y.sign() == 0 and self.x.sign() > 0

    def degrees(self, digits: int = 12) -> mpmath.mpf:
        """In degrees, for people: within 10^-digits relative; in (-180, 180]."""
        import mpmath

        bits = 64 + 4 * digits
        while True:
            with mpmath.workprec(bits):
                x, y = (_middle(n, bits) for n in self.way)
                if [n.sign() == 0 for n in self.way] == [x == 0, y == 0]:
                    return mpmath.degrees(mpmath.atan2(y, x))
            bits *= 2


def _middle(number: Number, bits: int) -> mpmath.mpf:
    """The number as an mpmath float, to `bits` bits of its own size."""
    import mpmath

    if number.sign() == 0:
        return mpmath.mpf(0)
    precision = bits
    while True:
        low, high = number.enclosure(precision)
        middle = (low + high) / 2
        if (high - low) * 2**bits <= abs(middle):
            return mpmath.mpf(middle.numerator) / mpmath.mpf(middle.denominator)
        precision *= 2


class VertexReport(NamedTuple):
    """Everything that the folds at one vertex must satisfy, with exact answers.

    `folds` are edge numbers counter-clockwise, `angles` the exact angles between consecutive ones (at a vertex on the
    border: between the first and last fold and the border edges too). `defect` is the exact angle by which the
    alternate sums differ (None on the border). `assignments` counts the mountain–valley assignments that fold at this
    vertex alone, whatever is drawn; `completions` those that agree with the drawing (None for more than 10 open folds
    beside some that are not). Local success proves nothing about the whole pattern.
    """

    vertex: int
    on_border: bool
    folds: tuple[int, ...]
    letters: tuple[Letter, ...]
    angles: tuple[Angle, ...]
    defect: Angle | None
    maekawa: bool | None
    big_little_big: tuple[int, ...]
    assignments: int
    completions: int | None

    @property
    def kawasaki(self) -> bool | None:
        """Whether the fold map closes round the vertex (None on the border, where it always does)."""
        if self.on_border:
            return None
        return len(self.folds) % 2 == 0 and self.defect is not None and self.defect.is_zero

    @property
    def folds_here(self) -> bool | None:
        """Whether the vertex alone folds flat as drawn (None past the declared degree)."""
        return None if self.completions is None else self.completions > 0

    @property
    def counts(self) -> tuple[int, int, int]:
        """Mountain, valley and either folds at the vertex."""
        return (self.letters.count("mountain"), self.letters.count("valley"), self.letters.count("either"))


def vertex_reports(subdivision: Subdivision) -> list[VertexReport]:
    """A report for every vertex that a fold touches."""
    known: dict[_Star, _Found] = {}
    return [r for v in range(len(subdivision.vertices)) if (r := _report(subdivision, v, known)) is not None]


_Star = tuple[tuple[Point, ...], tuple[Letter, ...], bool]
_Found = tuple[tuple[Angle, ...], Angle | None, bool | None, tuple[int, ...], int, int | None]


def _report(s: Subdivision, vertex: int, known: dict[_Star, _Found]) -> VertexReport | None:
    """The report for one vertex, or None if no fold touches it. `known`: what was found of vertices that look alike."""
    ring = list(s.around[vertex])
    folds = [e for e in ring if s.edges[e].is_fold]
    if not folds:
        return None
    border = vertex in s.on_border
    if border:
        outer = [i for i, e in enumerate(ring) if s.edges[e].kind == "border"]
        start = next(i for i in outer if s.edges[ring[i]].left_from(vertex) >= 0)
        ring = ring[start:] + ring[:start]
        folds = [e for e in ring if s.edges[e].is_fold]
        stops = [ring[0], *folds, next(e for e in ring[1:] if s.edges[e].kind == "border")]
    else:
        stops = folds
    heads = (s.vertices[s.edges[e].other(vertex)] for e in stops)
    letters = tuple(cast(Letter, s.edges[e].kind) for e in folds)
    star = tuple(_shortened(difference(head, s.vertices[vertex])) for head in heads), letters, border
    if star not in known:
        known[star] = _look(*star)
    return VertexReport(vertex, border, tuple(folds), letters, *known[star])


def _shortened(direction: Point) -> Point:
    """A rational direction with x or y 1 or -1: the numbers of long ways can be long, and those of directions short."""
    x, y = direction
    if not (x.is_rational and y.is_rational):
        return direction
    size = abs(x) if x else abs(y)
    return Point(x / size, y / size)


def _look(directions: tuple[Point, ...], letters: tuple[Letter, ...], border: bool) -> _Found:
    """What a report says of a vertex with folds, and on the border the edges there, in these directions."""
    turns = pairwise(directions) if border else around(directions)
    angles = tuple(Angle.turn(u, w) for u, w in turns)
    defect = None if border else alternate_difference(angles)
    closed_well = not border and len(letters) % 2 == 0 and defect is not None and defect.is_zero
    can_fold = border or closed_well
    assignments = count_assignments(angles, closed=not border) if can_fold else 0
    completions: int | None = 0
    if can_fold:
        open_ = letters.count("either")
        if open_ == len(letters):
            completions = assignments
        elif open_ <= _LISTED:
            completions = sum(1 for _ in foldable_assignments(angles, letters, closed=not border))
        else:
            completions = None
    return (
        angles,
        defect,
        None if border else maekawa_possible(letters),
        big_little_big(angles, letters) if closed_well else (),
        assignments,
        completions,
    )


def alternate_difference(angles: Sequence[Angle]) -> Angle:
    """The sum of the odd-numbered angles less the sum of the others, exactly (0 is Kawasaki–Justin)."""
    total = Angle.zero()
    for i, angle in enumerate(angles):
        total = total + angle if i % 2 == 0 else total - angle
    return total


def maekawa_possible(letters: Sequence[Letter]) -> bool:
    """Whether |M - V| = 2 for some choice of the `either` folds."""
    m, v, e = (letters.count(x) for x in ("mountain", "valley", "either"))
    return any(abs((m + k) - (v + e - k)) == 2 for k in range(e + 1))


def big_little_big(angles: Sequence[Angle], letters: Sequence[Letter]) -> tuple[int, ...]:
    """Which angles are strictly smaller than both neighbours and lie between two folds drawn alike."""
    if len(angles) <= 2:
        return ()
    here = zip(with_neighbours(angles), around(letters), strict=True)
    return tuple(
        i
        for i, ((before, angle, after), (one, two)) in enumerate(here)
        if angle < before and angle < after and one == two != "either"
    )


def foldable_assignments(
    angles: Sequence[Any],
    letters: Sequence[Letter],
    *,
    closed: bool,
    no_larger: Callable[[Any, Any], bool] = le,
) -> Iterator[tuple[Letter, ...]]:
    """The mountain–valley assignments that agree with `letters` and fold flat at the vertex, each once.

    `closed`: an inner vertex, with as many angles as folds, all round; else a vertex on the border with one
    angle more than folds. `no_larger` compares two angles. Raises `LimitReached` for more than 16 open folds.
    """
    if letters.count("either") > LIMIT_DEGREE:
        raise LimitReached(
            "degree of a vertex", str(LIMIT_DEGREE), f"{letters.count('either')} folds without a direction"
        )
    choices: list[tuple[Letter, ...]] = [("mountain", "valley") if x == "either" else (x,) for x in letters]
    crimped = _Crimped(angles, no_larger)
    for chosen in product(*choices):
        if crimped.folds_flat(chosen, closed=closed):
            yield chosen


def nearly_folds(report: VertexReport, off: float) -> bool:
    """Whether a vertex would fold as drawn if angles within `off` degrees were equal: an estimate, in floats, for where
    to look for an exact drawing; no proof that there is one.
    """
    if report.letters.count("either") > _LISTED:
        return False
    angles = [float(angle.degrees()) % 360 for angle in report.angles]
    found = foldable_assignments(
        angles, report.letters, closed=not report.on_border, no_larger=lambda a, b: a <= b + off
    )
    return any(found)


class _Crimped:
    """The angles round a vertex and those that crimping makes of them: each comparison and sum is worked out once."""

    def __init__(self, angles: Sequence[Any], no_larger: Callable[[Any, Any], bool]) -> None:
        self._angles, self._compare = list(angles), no_larger
        self._whole = range(len(angles))
        self._no_larger: dict[tuple[int, int], bool] = {}
        self._merged: dict[tuple[int, int, int], int] = {}

    def folds_flat(self, letters: Sequence[str], *, closed: bool) -> bool:
        """Whether the vertex folds flat so, if Kawasaki–Justin holds: crimp until nothing is left.

        An angle no larger than its neighbours, between mountain and valley, is crimped away; a closed vertex folds
        exactly if two folds alike are left (Demaine & O'Rourke 2007, ch. 12). On the border an end no longer than its
        neighbour is folded away (Arkin et al. 2004).
        """
        if not closed:
            return strip_order(self._whole, letters, self._fits, self._merge) is not None
        arcs, folds = list(self._whole), list(letters)
        while len(folds) != 2:
            if not self._crimp(arcs, folds):
                return False
        return folds[0] == folds[1]

    def _fits(self, a: int, b: int) -> bool:
        """Whether the first is no larger than the second."""
        if (a, b) not in self._no_larger:
            self._no_larger[a, b] = self._compare(self._angles[a], self._angles[b])
        return self._no_larger[a, b]

    def _merge(self, a: int, b: int, c: int) -> int:
        """The first less the second plus the third."""
        if (a, b, c) not in self._merged:
            self._merged[a, b, c] = len(self._angles)
            self._angles.append(self._angles[a] + self._angles[c] - self._angles[b])
        return self._merged[a, b, c]

    def _crimp(self, arcs: list[int], folds: list[str]) -> bool:
        for i, ((before, here, after), (one, two)) in enumerate(zip(with_neighbours(arcs), around(folds), strict=True)):
            if one != two and self._fits(here, before) and self._fits(here, after):
                turned = [*arcs[i:], *arcs[:i]]
                arcs[:] = [*turned[2:-1], self._merge(before, here, after)]
                folds[:] = [*folds[i:], *folds[:i]][2:]
                return True
        return False


def strip_order(
    lengths: Sequence[Any],
    letters: Sequence[object],
    no_larger: Callable[[Any, Any], bool] = le,
    merged: Callable[[Any, Any, Any], Any] = lambda a, b, c: a - b + c,
) -> list[int] | None:
    """An order in which to fold the creases of a strip, with such lengths between them, by crimps and end folds in any
    order (Arkin et al. 2004); None if it does not fold flat. `letters`: which creases are folded alike.
    """
    # what is done with on the left: segments, and the crease after each; the last segment is under the hand
    left: list[tuple[Any, int]] = []
    order: list[int] = []
    segment = lengths[0]
    for crease, following in enumerate(lengths[1:]):
        left.append((segment, crease))
        segment = following
        while left:
            middle, two = left[-1]
            if not no_larger(middle, segment):
                break
            if len(left) == 1:
                order.append(two)
                left.pop()
            elif no_larger(middle, left[-2][0]) and letters[left[-2][1]] != letters[two]:
                before, one = left[-2]
                order += [one, two]
                segment = merged(before, middle, segment)
                del left[-2:]
            else:
                break
    while left:
        before, crease = left.pop()
        if not no_larger(segment, before):
            return None
        order.append(crease)  # from the other end
        segment = before
    return order


def count_assignments(angles: Sequence[Angle], *, closed: bool = True) -> int:
    """How many mountain–valley assignments fold flat at one vertex (Hull's recursion). Assumes Kawasaki–Justin for a
    closed one.

    A longest run of k equal angles, none of its neighbours as small, has k + 1 folds: for odd k half of them mountain,
    and it closes up; for even k one more of one kind, and one stays. On the border ends no longer than their neighbours
    fold either way.
    """
    arcs = list(angles)
    total = 1
    while True:
        n = len(arcs)
        if not closed:
            if n == 1:
                return total
            end = next((end for end, beside in ((0, 1), (-1, -2)) if arcs[end] <= arcs[beside]), None)
            if end is not None:
                del arcs[end]
                total *= 2
                continue
        smallest = min(arcs)
        equal = [a == smallest for a in arcs]
        if all(equal):
            return total * 2 * comb(n, n // 2 - 1)
        start = next(i for i in range(n) if equal[i] and not equal[i - 1])
        if closed:
            arcs = arcs[start:] + arcs[:start]
            equal = equal[start:] + equal[:start]
            start = 0
        k = next((j for j in range(start, n) if not equal[j]), n) - start
        before, after, run = arcs[start - 1], arcs[(start + k) % n], arcs[start]
        if k % 2 == 1:
            total *= comb(k + 1, (k + 1) // 2)
            if closed and n == k + 1:
                return 0
            merged = before + after - run
            arcs = [*arcs[k + 1 : -1], merged] if closed else [*arcs[: start - 1], merged, *arcs[start + k + 1 :]]
        else:
            total *= comb(k + 1, k // 2)
            arcs = arcs[k:] if closed else arcs[:start] + arcs[start + k :]
