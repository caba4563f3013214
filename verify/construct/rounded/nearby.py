"""An exact pattern near a rounded drawing.

Once each drawn line is taken to have a direction of a known family, everything that the drawing means is linear in the
coordinates: a line has its direction, a point lies on a line, the folds close round a hole and where lines cross, two
target lines fold onto one. Of these equations as many are taken, one after another, as hold together without
moving any point farther than `most`. What they leave free stays as it was written, the rounder numbers first, so that
few numbers change and those by little.

Floats and guesses choose; the result is solved exactly. A proposal's folds close round every vertex and hole (checked
exactly here); whether the pattern folds flat and cuts, only a certificate says. No proposal does not
mean that no exact pattern is near.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Any

from verify.construct.coordinates import directions as way
from verify.construct.coordinates.directions import FAMILIES, Family
from verify.construct.coordinates.snapping import Move, movements
from verify.construct.coordinates.stars import stars_near
from verify.construct.rounded.folded import Folding, fold_forms
from verify.construct.rounded.sketch import Sketch, Slopes
from verify.cutting.cut import cut
from verify.exact.expression import DegreeLimit, NumberLimits
from verify.exact.field import read_numbers
from verify.exact.number import Number
from verify.exact.number_text import rational_text
from verify.folding.foldmap import FoldMap, fold_map
from verify.folding.overlaps import Overlaps
from verify.pattern.arrangement import subdivide
from verify.pattern.document import Document
from verify.pattern.drawing import draw
from verify.pattern.limits import LimitReached, Limits
from verify.pattern.rounding import decimals, rounding, strays
from verify.pattern.source import Malformed

# A point off by half a unit in both coordinates is off by 0.71 units; two of them together by 1.42.
MOST_IN_UNITS = Fraction(3, 2)
_DENOMINATORS = (3, 6, 12, 100)
# so many of the longest lines are tried as directions to count angles from
_SEEDS = 3
# one after the other: whether directions are counted from lines, not from the x axis; which slopes other lines may have
_STAGES: tuple[tuple[bool, tuple[Slopes, ...]], ...] = (
    (False, ("none", "small")),
    (True, ("none", "small")),
    (False, ("any",)),
    (True, ("any",)),
)
# folded lines this many times `most` apart may be meant to be one: reflections add up
_TOGETHER = 8
_BRIEF = 8
_WRONG = 3  # so many points may alone be wrong


@dataclass(frozen=True)
class NearPattern:
    """An exact pattern near a drawing, not yet certified.

    `family` says in words what was recognised, `recognised` how many of the `lines` drawn lines were given a direction.
    `moves` are the points that moved, farthest first; `rounding` is the unit that the drawing's numbers
    show, `most` how far a point was allowed to move. `cut_exact` is None without a target.
    """

    document: Document
    family: str
    recognised: int
    lines: int
    moves: tuple[Move, ...]
    rounding: Fraction
    most: Fraction
    cut_exact: bool | None

    @property
    def greatest(self) -> float:
        """The longest way that a point moves."""
        return max((m.distance for m in self.moves), default=0.0)

    @property
    def mean(self) -> float:
        """The mean over the points that move."""
        return sum(m.distance for m in self.moves) / len(self.moves) if self.moves else 0.0

    def keys(self) -> dict[str, Any]:
        """The proposal for JSON."""
        return {
            "family": self.family,
            "lines": self.lines,
            "recognised": self.recognised,
            "unit": self.document.unit,
            "rounding": str(self.rounding),
            "most": str(self.most),
            "greatest": self.greatest,
            "mean": self.mean,
            "moved": [
                {"point": m.name, "before": list(m.before), "after": list(m.after), "distance": m.distance}
                for m in self.moves
            ],
        }

    def summary(self, given: str = "as drawn", certified: bool = True) -> Iterator[str]:
        """A few lines for people: what was recognised, what moves, and how far. `given`: how the document came;
        `certified`: whether this pattern is."""
        if not self.moves:
            wrong = ""
            near = f"nothing within {float(self.most):.3g} {self.document.unit} (--most MM) was found"
            if self.cut_exact is False:
                wrong = f"; but the cut is not exact, and {near} whose cut is exact"
            elif not certified:
                wrong = f"; but it does not fold flat, and {near} that does"
            yield f"nothing moves: the folds close {given}{wrong}"
            return
        unit = self.document.unit
        count = len(self.moves)
        of_lines = f" ({self.recognised} of {self.lines} lines)" if self.lines else ""
        yield f"proposed: {self.family}{of_lines}"
        yield (
            f"  {count} of {len(self.document.points)} points move{'s' if count == 1 else ''}, by at most "
            f"{self.greatest:.3g} {unit}, on average {self.mean:.3g} {unit}; "
            f"the drawing is rounded to {float(self.rounding):g} {unit}"
        )
        for m in self.moves[:_BRIEF]:
            yield f"  {m.name}: {m.distance:.3g} {unit}, from ({', '.join(m.before)}) to ({', '.join(m.after)})"
        if count > _BRIEF:
            yield f"  … and {count - _BRIEF} more (--json lists all)"


def _cuts(pattern: NearPattern) -> bool:
    return pattern.cut_exact is not False


def near_patterns(
    document: Document,
    most: Fraction | None = None,
    limits: Limits = Limits(),
    enough: Callable[[NearPattern], bool] = _cuts,
) -> list[NearPattern]:
    """The exact patterns near the drawing of which no point is farther than `most` (in the document's unit).

    The best first: exact cuts before others, then the least movement.

    A document whose folds close already comes back unmoved, and alone if it is good `enough`: by default, if its cut is
    exact or it has no target.
    Without `most` it is one and a half units of the last digit written. Raises `Malformed` as `draw` does.
    """
    draw(document, limits)
    unit = rounding(document.numbers)
    allowed = MOST_IN_UNITS * unit if most is None else most
    as_drawn = _folded(document, limits)
    found: list[NearPattern] = []
    if as_drawn is not None and as_drawn.exists:
        exact = _cut_exact(document, as_drawn)
        found = [NearPattern(document, "none: the folds close as drawn", 0, 0, (), unit, allowed, exact)]
        if enough(found[0]):
            return found
    try:
        for candidate in _candidates(document, unit, allowed, limits):
            if candidate.moves and all(candidate.document != p.document for p in found):
                found.append(candidate)
        if not any(_cuts(p) for p in found):
            found += _of_stars(document, unit, allowed, limits)
    except OverflowError:
        # coordinates beyond all floats are no drawing's
        return found
    found.sort(key=lambda p: (p.cut_exact is False, p.greatest, p.mean))
    fewer = None
    if found and found[0].moves and _cuts(found[0]):
        fewer = on_grid(document, found[0], limits) or _fewest(document, found[0], limits)
    return [fewer, *found] if fewer is not None else found


def _fewest(document: Document, proposal: NearPattern, limits: Limits) -> NearPattern | None:
    """The pattern in which only the points that a proposal moves farthest move, to round numbers, and as few as can be:
    one point may have been written wrongly, and the others be right. None if there is none.
    """
    numbers = read_numbers([t for m in proposal.moves for t in m.after], NumberLimits(degree=limits.degree)).numbers
    points = dict(document.points)
    for count, move in enumerate(proposal.moves[:_WRONG], 1):
        x, y = (rational_text(_rounded(numbers[t], proposal.rounding)) for t in move.after)
        points[move.name] = x, y
        if count == len(proposal.moves):
            return None
        found = _of_few(document, points, proposal, limits)
        if found is not None:
            return found
    return None


def on_grid(document: Document, proposal: NearPattern, limits: Limits) -> NearPattern | None:
    """The pattern in which only the one or two numbers that are less round than all others are changed; None if its
    folds do not close, its cut is not exact, or a point is moved farther than the proposal's may be.
    """
    nearest = strays(document.numbers)
    if not nearest:
        return None
    points = {name: (nearest.get(x, x), nearest.get(y, y)) for name, (x, y) in document.points.items()}
    return _of_few(document, points, proposal, limits)


def _of_few(
    document: Document, points: Mapping[str, tuple[str, str]], proposal: NearPattern, limits: Limits
) -> NearPattern | None:
    """The pattern with these points; None if its folds do not close, its cut is not exact, or one is moved too far."""
    proposed = replace(document, points=points, raw=None)
    folded = _folded(proposed, limits)
    if folded is None or not folded.exists or _cut_exact(proposed, folded) is False:
        return None
    moves = movements(document, proposed, limits)
    if any(m.distance > float(proposal.most) for m in moves):
        return None
    family = "the fewest points, onto round numbers"
    return replace(proposal, document=proposed, family=family, recognised=0, lines=0, moves=moves)


def _rounded(value: Number, unit: Fraction) -> Fraction:
    return round(Fraction(float(value)) / unit) * unit


def _folded(document: Document, limits: Limits) -> FoldMap | None:
    try:
        return fold_map(subdivide(draw(document, limits), limits))
    except (Malformed, LimitReached):
        return None


def _cut_exact(document: Document, folded: FoldMap) -> bool | None:
    """Whether the cut is exact; None without a target."""
    return cut(Overlaps(folded), document.snips).exact if document.snips is not None else None


def _candidates(document: Document, unit: Fraction, most: Fraction, limits: Limits) -> Iterator[NearPattern]:
    """Proposals from what needs few guesses to what needs many; no more of them after those that are good enough."""
    seen: set[tuple[object, ...]] = set()
    good = False
    for number, (turned, every_slopes) in enumerate(_STAGES):
        if number == 0:
            for proposal in _simplest_numbers(document, unit, most, limits):
                good = good or (bool(proposal.moves) and _cuts(proposal))
                yield proposal
        for family in _turned(document, most) if turned else FAMILIES:
            for slopes in every_slopes:
                try:
                    sketch = Sketch(document, unit, most, family, limits)
                except DegreeLimit:
                    continue
                sketch.recognise(slopes)
                meaning = sketch.meaning()
                if meaning not in seen:
                    seen.add(meaning)
                    for proposal in _proposed(sketch, limits):
                        good = good or (bool(proposal.moves) and _cuts(proposal))
                        yield proposal
        if good:
            return


def _of_stars(document: Document, unit: Fraction, most: Fraction, limits: Limits) -> Iterator[NearPattern]:
    """Proposals for the target as a regular polygon or star, whose sides may have directions of no family."""
    for star, what, far in stars_near(document):
        for proposal in _candidates(star, unit, most, limits) if far <= most else ():
            moves = movements(document, proposal.document, limits)
            if all(move.distance <= float(most) for move in moves):
                yield replace(proposal, family=f"{what}, {proposal.family}", moves=moves)


def _turned(document: Document, most: Fraction) -> list[Family]:
    """Families counted from the directions of the longest lines."""
    sketch = Sketch(document, most, most, FAMILIES[-1], Limits())
    lines = [(sketch.angle(x), sketch.length(x), sketch.doubt(x)) for x in sketch.lines]
    by_length = sorted(range(len(lines)), key=lambda i: (sketch.kept.issuperset(sketch.lines[i]), -lines[i][1]))
    found: dict[Family, None] = {}
    for family in FAMILIES:
        for seed in by_length[:_SEEDS]:
            base = way.common_base(lines, seed, family.step)
            if base is not None:
                found[replace(family, base=base)] = None
    return list(found)


def _simplest_numbers(document: Document, unit: Fraction, most: Fraction, limits: Limits) -> Iterator[NearPattern]:
    """Every decimal replaced by the simplest fraction of which it is a rounding, for a few bounds on the
    denominator.
    """
    for bound in _DENOMINATORS:
        if bound * unit > 1:
            break
        points = {
            name: (_simplest(x, unit, bound), _simplest(y, unit, bound)) for name, (x, y) in document.points.items()
        }
        proposed = replace(document, points=points, raw=None)
        folded = _folded(proposed, limits)
        if folded is not None and folded.exists:
            moves = movements(document, proposed, limits)
            if all(m.distance <= float(most) for m in moves):
                family = f"fractions with denominators up to {bound}"
                yield NearPattern(proposed, family, 0, 0, moves, unit, most, _cut_exact(proposed, folded))
                return


def _simplest(text: str, unit: Fraction, bound: int) -> str:
    digits = decimals(text)
    if not digits or Fraction(1, 10**digits) != unit:
        return text
    value = Fraction(text)
    simple = way.simplest_between(value - unit / 2, value + unit / 2)
    return str(simple) if simple.denominator <= bound and simple != value else text


def _proposed(sketch: Sketch, limits: Limits) -> Iterator[NearPattern]:
    """Proposals by what is drawn; by what the folded sheet needs as well; and with all lines together that fold near
    each other.
    """
    tried: list[Document] = []
    folded: FoldMap | None = None
    for more in ("", "target", "every line"):
        forms = []
        if more:
            if folded is None:
                return
            folding = Folding(folded, sketch.index)
            forms = fold_forms(folding, sketch.start, _TOGETHER * sketch.reach, every_line=more == "every line")
        document, recognised = sketch.document_with(forms)
        if document is None or document in tried:
            continue
        tried.append(document)
        now = _folded(document, limits)
        folded = folded or now
        if now is None or not now.exists:
            continue
        moves = movements(sketch.document, document, limits)
        if all(m.distance <= sketch.reach * (1 + 1e-9) for m in moves):
            name, lines, exact = sketch.family_name(), len(sketch.lines), _cut_exact(document, now)
            yield NearPattern(document, name, recognised, lines, moves, sketch.unit, sketch.most, exact)
