"""SVG drawings as pattern documents: a target to be cut, or a crease pattern drawn by hand.

The drawing's own numbers are kept exactly, in millimetres, with y up and the page's lower left corner at (0, 0). What
a line means is said by the user's rules alone; no colour, dash or name has a meaning of its own. Nothing is proved of
the pattern: the document says what was drawn, and `certify` says whether it folds and what the cut frees.
"""

from __future__ import annotations

import re
import tomllib
from cmath import phase
from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence, Set
from contextlib import suppress
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise
from math import floor, radians
from pathlib import Path
from typing import Any, Literal, NoReturn

from verify.exact.number import Number
from verify.exact.number_text import rational_text
from verify.exact.plane import Point, around, cross, locate, polygon_area2, polygon_is_simple, simple_outlines
from verify.pattern import curves, svg_strokes
from verify.pattern.components import chains
from verify.pattern.document import KINDS, Crease, Document, Kind, one_of
from verify.pattern.source import Malformed, Unsupported, content_of, printable, show
from verify.pattern.svg_defaults import MARGIN, SIZE, Strokes
from verify.pattern.svg_shapes import Chain, Picture, Shape, cleaned, covers, read_picture
from verify.pattern.svg_space import Reading
from verify.pattern.svg_style import colour, dashes
from verify.pattern.svg_text import Misread, millimetres

__all__ = ["Rule", "Unsupported", "pattern_from_svg", "rules_from_toml", "target_from_svg"]

_FEW = 3
_SLIGHT = 15  # degrees: a corner that bends by less is nearly none
_MANY = 12  # so many of these, and more than half of all, are traced rather than designed (our own choice, no source)
_BROAD = 2.0  # mm: a stroke as wide is more than a line that a pen draws

Meaning = Literal["mountain", "valley", "either", "flat", "target", "border", "ignore"]
MEANINGS: tuple[Meaning, ...] = (*KINDS, "target", "border", "ignore")
KEYS = ("stroke", "dash", "class", "layer", "id", "element")
_LONGEST_TEXT = 4_000

Exact = int | str | Fraction


@dataclass(frozen=True)
class Rule:
    """All lines that meet every condition mean `meaning`. A condition is a key and a value:

    `stroke` (a colour, or none), `dash` (the numbers of stroke-dasharray; none: unbroken; any: broken), `class` and
    `id` (of the element or a group round it), `layer` (the name, label or id of a group round it), `element` (its tag).
    """

    conditions: tuple[tuple[str, str], ...]
    meaning: Meaning

    @staticmethod
    def parse(text: str) -> Rule:
        """A rule such as `class=ridge:mountain` or `stroke=#d00 and dash=4 2:valley`. Raises `Malformed`."""
        head, colon, meaning = text.rpartition(":")
        if not colon:
            raise Malformed(f"--line {text}", "", "no kind of line", "KEY=VALUE:KIND, such as class=ridge:mountain")
        conditions = {}
        for part in re.split(r"\s+and\s+(?=[a-z]+\s*=)", head):
            key, equals, value = (x.strip() for x in part.partition("="))
            if not equals or not value or key in conditions:
                raise Malformed(f"--line {text}", "", f'"{part}"', "KEY=VALUE:KIND, such as class=ridge:mountain")
            conditions[key] = value
        return Rule.of(conditions | {"kind": meaning.strip()}, f"--line {text}")

    @staticmethod
    def of(keys: Mapping[str, object], source: str = "rule") -> Rule:
        """A rule from keys: conditions, and `kind`. Raises `Malformed`."""
        conditions: list[tuple[str, str]] = []
        kind = keys.get("kind")
        if kind not in MEANINGS:
            raise Malformed(source, "kind", show(kind), one_of(MEANINGS, kind))
        for key, value in keys.items():
            if key == "kind":
                continue
            if key not in KEYS:
                raise Malformed(source, str(key), f'the unknown key "{key}"', one_of((*KEYS, "kind"), key))
            if not isinstance(value, str) or not value.strip():
                raise Malformed(source, key, show(value), "a text")
            if key == "dash" and value.strip() not in ("none", "any"):
                try:
                    dashes(value)
                except Misread as error:
                    raise Malformed(source, key, error.found, "none, any, or the numbers of the dashes") from None
            conditions.append((key, value.strip()))
        if not conditions:
            raise Malformed(source, "", "no condition", "at least one of " + ", ".join(KEYS))
        return Rule(tuple(conditions), kind)

    def fits(self, shape: Shape) -> bool:
        """Whether all conditions hold for a shape. Raises `Misread` for dashes that cannot be read."""
        return all(_CONDITIONS[key](shape, value) for key, value in self.conditions)

    def names_one_of(self, layers: Set[str]) -> bool:
        """Whether the rule is for one of these layers, whatever is drawn there."""
        return any(self.conditions == (("layer", name),) for name in layers)

    def __str__(self) -> str:
        return " and ".join(f"{key}={value}" for key, value in self.conditions) + f":{self.meaning}"


def _stroke_is(shape: Shape, value: str) -> bool:
    return colour(shape.style.values["stroke"] if shape.style.stroked else "none") == colour(value)


def _dash_is(shape: Shape, value: str) -> bool:
    drawn = dashes(shape.style.values["stroke-dasharray"])
    return bool(drawn) if value == "any" else _doubled(drawn) == _doubled(dashes(value))


def _doubled(numbers: tuple[Fraction, ...]) -> tuple[Fraction, ...]:
    """An odd number of dashes is gone through twice (SVG 1.1 §11.4)."""
    return numbers * 2 if len(numbers) % 2 else numbers


_CONDITIONS: dict[str, Callable[[Shape, str], bool]] = {
    "stroke": _stroke_is,
    "dash": _dash_is,
    "class": lambda shape, value: value in shape.within.classes,
    "layer": lambda shape, value: value in shape.within.layers,
    "id": lambda shape, value: value in shape.within.ids,
    "element": lambda shape, value: value == shape.element.tag,
}


def rules_from_toml(path: str | Path) -> list[Rule]:
    """The rules of a TOML file with a table `[[line]]` for each: conditions and `kind`. Raises `Malformed`."""
    data, _ = content_of(path)
    source = str(path)
    try:
        keys = tomllib.loads(data.decode("utf-8-sig"))
    except (ValueError, RecursionError) as error:
        raise Malformed(source, "", f"a mistake in the TOML ({error})", "tables [[line]]") from None
    tables = keys.get("line")
    if set(keys) != {"line"} or not isinstance(tables, list) or not all(isinstance(t, dict) for t in tables):
        raise Malformed(source, "", ", ".join(keys) or "nothing", "tables [[line]] and nothing else")
    return [Rule.of(table, f"{source}: line[{i}]") for i, table in enumerate(tables)]


def target_from_svg(
    path: str | Path,
    *,
    sheet: Exact | None = None,
    rules: Iterable[Rule | str] = (),
    flatten: Exact | None = None,
    width: Exact | None = None,
    strokes: Strokes = "follow",
    all_target: bool = True,
    round_turns: bool = False,
) -> Document:
    """The document whose target is the drawing: closed outlines are loops, open lines paths.

    `sheet`: the margin in mm round the drawing's bounding box (default `MARGIN`, unless a rule says what the border
    is). `rules` say what some of the lines are instead (`Rule`, or its text). `flatten`: curves become lines within so
    many mm of them; None refuses curves. `width`: how wide the drawing is made, such as "120mm" (a bare number: mm),
    whatever size the file states. A file with a `viewBox` and no size is `SIZE` mm in its longer side, and the
    document's `notes` say so. `strokes`: `follow` the lines of the target whatever their width, or `outline` what their
    strokes paint, all together (`svg_strokes`).

    `all_target`: lines that no rule maps are the target; else they are an error. `round_turns`: turns whose exact
    numbers need too large a field are rounded, and the notes say so; else they are refused.

    Points are named p1, p2, … in the file's order; equal places are one point. Raises `Malformed` with the element,
    its id and line; `Unsupported` for what was understood and is not read.
    """
    rules = _rules(rules)
    if sheet is None and not any(rule.meaning == "border" for rule in rules):
        sheet = MARGIN
    default: Meaning | None = "target" if all_target else None
    return _Builder(path, rules, default, sheet, flatten, width, strokes, round_turns).document()


def pattern_from_svg(
    path: str | Path,
    mapping: Iterable[Rule | str],
    *,
    margin: Exact | None = None,
    flatten: Exact | None = None,
    width: Exact | None = None,
) -> Document:
    """The document of a hand-drawn crease pattern; `mapping` says what each line means (`Rule`, or its text).

    The sheet is what `border` lines enclose, or the bounding box with `margin` mm round it. An element that no rule
    maps, or that two rules map differently, is an error. For the rest see `target_from_svg`.
    """
    return _Builder(path, _rules(mapping), None, margin, flatten, width).document()


def _rules(rules: Iterable[Rule | str]) -> list[Rule]:
    return [Rule.parse(rule) if isinstance(rule, str) else rule for rule in rules]


def _length(value: Exact, name: str, least: Fraction, most: int = 1_000_000) -> Fraction:
    """A length in mm: a number, or a text such as 120mm or 12cm (a bare number: mm)."""
    try:
        found = millimetres(value) if isinstance(value, str) else Fraction(value)
    except Misread as error:
        raise Malformed(name, "", error.found, error.expected) from None
    except (ValueError, OverflowError):
        raise Malformed(name, "", show(value), "a number of mm") from None
    if not least <= found <= most:
        raise Malformed(name, "", f"{float(found):g} mm", f"from {float(least):g} to {most:,} mm")
    return found


class _Builder:
    def __init__(
        self,
        path: str | Path,
        rules: Sequence[Rule],
        default: Meaning | None,
        margin: Exact | None,
        flatten: Exact | None,
        width: Exact | None,
        strokes: Strokes = "follow",
        round_turns: bool = False,
    ) -> None:
        self.strokes, self.painted = strokes, list[Any]()
        self.widest = 0.0  # mm: of the strokes of open target lines that are followed
        self.path, self.source, self.rules, self.default = Path(path), str(path), rules, default
        self.margin = None if margin is None else _length(margin, "margin", Fraction(0))
        within = None if flatten is None else _length(flatten, "flatten", curves.FINEST, 1_000)
        wide = None if width is None else _length(width, "width", curves.FINEST)
        self.how = Reading(within, wide, Fraction(SIZE), round_turns)
        self.names: dict[Point, str] = {}
        self.drawn: dict[str, tuple[int, str]] = {}  # by name: which point of which element
        self.creases: dict[frozenset[Point], tuple[Kind, Shape]] = {}
        self.lines: list[tuple[Point, Point, Kind]] = []
        self.loops: dict[tuple[Point, ...], None] = {}
        self.paths: dict[tuple[Point, ...], None] = {}
        self.borders: list[tuple[Point, Point]] = []
        self.taken: list[str] = []  # what is there once more, or is no line
        self.backgrounds: list[Shape] = []  # target shapes that cover the whole page

    def fail(self, shape: Shape, found: str, expected: str, *, unsupported: bool = False) -> NoReturn:
        kind = Unsupported if unsupported else Malformed
        raise kind(self.source, str(shape.element), found, expected, shape.element.line)

    def document(self) -> Document:
        data, _ = content_of(self.path)
        picture = read_picture(data, self.source, self.how)
        fitting: set[Rule] = set()
        for shape in picture.shapes:
            meaning = self.meaning(shape, fitting)
            if meaning == "target" and self.strokes == "outline" and shape.style.stroked:
                try:
                    self.painted.append(svg_strokes.painted(shape, self.how.flatten))
                except Misread as error:
                    self.fail(shape, error.found, error.expected, unsupported=error.unsupported)
            elif meaning != "ignore":
                open_lines = len(self.paths)
                for chain in shape.chains:
                    self.add(shape, chain, meaning)
                if meaning == "target" and covers(shape, picture.page):
                    self.backgrounds.append(shape)
                if len(self.paths) > open_lines and shape.style.stroked:
                    with suppress(Misread):
                        self.widest = max(self.widest, svg_strokes.stroke_width(shape))
        for outline in svg_strokes.outlines(self.painted) if self.painted else ():
            places = cleaned(outline, True)
            for place in places:
                self.name(place)
            self.target(places, True)
        for rule in self.rules:
            if rule not in fitting and not rule.names_one_of(picture.empty_layers):
                raise Malformed(self.source, str(rule), "no line that it fits", "a rule that fits at least one line")
        if not self.lines and not self.loops and not self.paths:
            raise Malformed(self.source, "", "no line", "a drawing with at least one line")
        border, holes = self.sheet()
        return self.written(picture, border, holes)

    def meaning(self, shape: Shape, fitting: set[Rule]) -> Meaning:
        """What the rules say of a shape; what cannot be read, such as text and pictures, may only be ignored."""
        try:
            rules = [rule for rule in self.rules if rule.fits(shape)]
        except Misread as error:
            self.fail(shape, error.found, f"stroke-dasharray: {error.expected}", unsupported=error.unsupported)
        fitting.update(rules)
        different = {rule.meaning: rule for rule in rules}
        if len(different) > 1:
            one, two = list(different.values())[:2]
            self.fail(shape, f"two rules, {one} and {two}", "rules that agree on it")
        meaning = next(iter(different), self.default)
        if shape.unread is not None and meaning != "ignore":
            found, expected = shape.unread
            self.fail(shape, found, f"{expected}, or a rule such as {_rule_for(shape)}:ignore", unsupported=True)
        if meaning is None:
            expected = f"a rule for it, such as {_rule_for(shape)}:ignore or {_rule_for(shape)}:target"
            self.fail(shape, f"a line that no rule maps ({_looks(shape)})", expected)
        return meaning

    # lines

    def add(self, shape: Shape, chain: Chain, meaning: Meaning) -> None:
        points = list(chain.points)
        closed = chain.closed or (len(points) > 2 and points[0] == points[-1])
        points = cleaned(points, closed)
        if len(points) < 2:
            self.taken.append(f"{shape} has a part without length, which is left out")
            return
        if not closed and shape.style.filled and not _straight(points):
            if shape.style.stroked:
                expected = 'Z at its end for an outline, or fill="none" for a line'
                self.fail(shape, "an open line that is filled, too", expected)
            points, closed = cleaned(points, True), True
        if closed and len(points) < 3:
            closed = False
        for number, place in enumerate(points, 1):
            name = self.name(place)
            self.drawn.setdefault(name, (number, shape.element.id or f"{shape.element} in line {shape.element.line}"))
        if meaning == "target":
            if not self.target(points, closed):
                self.taken.append(f"{shape} is drawn twice, and taken once")
            return
        edges = list(pairwise([*points, points[0]] if closed else points))
        if meaning == "border":
            self.borders += edges
            return
        for a, b in edges:
            self.crease(shape, a, b, meaning)

    def target(self, points: list[Point], closed: bool) -> bool:
        """Take a line for the target, if it is not there yet; whether it was new. An outline that touches itself in
        corners is several; one that crosses itself is a path that returns to its start.
        """
        outlines = simple_outlines(points) if closed else []
        new = [one for one in map(tuple, outlines) if one not in self.loops]
        self.loops.update(dict.fromkeys(new))
        if outlines:
            return bool(new)
        line = (*points, points[0]) if closed else tuple(points)
        known = line in self.paths
        self.paths[line] = None
        return not known

    def crease(self, shape: Shape, a: Point, b: Point, meaning: Meaning) -> None:
        kind = next(k for k in KINDS if k == meaning)
        known = self.creases.get(frozenset((a, b)))
        if known is None:
            self.creases[frozenset((a, b))] = kind, shape
            self.lines.append((a, b, kind))
        elif known[0] != kind:
            other = known[1].element
            found = f"a {kind} line that is a {known[0]} line of {other} (line {other.line}), too"
            self.fail(shape, found, "each crease drawn once")

    # the sheet

    def sheet(self) -> tuple[list[Point], list[list[Point]]]:
        if self.borders:
            if self.margin is not None:
                raise Malformed(self.source, "margin", "a margin and lines that are the border", "one of the two")
            return self.bordered()
        if self.margin is None:
            raise Malformed(self.source, "", "no border line", "a rule KEY=VALUE:border, or a margin in mm")
        places = [p for line in (*self.loops, *self.paths, *(ends for *ends, _ in self.lines)) for p in line]
        (left, right), (low, high) = (self.bounded(along, self.margin) for along in zip(*places, strict=True))
        if left == right or low == high:
            raise Malformed(self.source, "margin", "a sheet without area", "a margin above 0")
        return [Point(left, low), Point(right, low), Point(right, high), Point(left, high)], []

    def bounded(self, along: Sequence[Number], margin: Fraction) -> tuple[Number, Number]:
        """From where to where the sheet goes, for what goes so far along one way. A margin round an irrational number
        ends at the next hundredth of a millimetre, so that the sheet brings no numbers of its own.
        """
        low, high = min(along) - margin, max(along) + margin
        if not margin:
            return low, high
        if not low.is_rational:
            low = Number.of(Fraction(floor(low * 100), 100))
        if not high.is_rational:
            high = Number.of(Fraction(floor(high * 100) + 1, 100))
        return low, high

    def bordered(self) -> tuple[list[Point], list[list[Point]]]:
        """The loops that the border lines make: the outermost is the outline, the others are holes."""
        different: dict[frozenset[Point], tuple[Point, Point]] = {}
        for line in self.borders:
            different.setdefault(frozenset(line), line)
        lines = list(different.values())
        count = Counter(place for line in lines for place in line)
        for place, ends in count.items():
            if ends != 2:
                found = f"{ends} border line{'s' if ends > 1 else ''} at {_shown(place)}"
                raise Malformed(self.source, "border", found, "border lines that join into closed outlines")
        closed, _ = chains(lines, lambda *_: True)
        loops = [cleaned(list(loop), True) for loop in closed]
        if any(polygon_is_simple(loop) is not None for loop in loops):
            raise Malformed(self.source, "border", "border lines that cross", "outlines that do not cross")
        loops.sort(key=lambda x: abs(polygon_area2(x)), reverse=True)
        for hole in loops[1:]:
            if locate(hole[0], loops[0]) < 0:
                found = f"a second outline at {_shown(hole[0])} beside the first"
                raise Malformed(self.source, "border", found, "one sheet, with holes inside it")
        return loops[0], loops[1:]

    # the document

    def name(self, place: Point) -> str:
        return self.names.setdefault(place, f"p{len(self.names) + 1}")

    def written(self, picture: Picture, outline: list[Point], holes: list[list[Point]]) -> Document:
        creases = tuple(Crease(self.name(a), self.name(b), kind) for a, b, kind in self.lines)
        loops, paths = (tuple(tuple(map(self.name, line)) for line in lines) for lines in (self.loops, self.paths))
        corners = tuple(map(self.name, outline))
        inner = tuple(tuple(map(self.name, hole)) for hole in holes)
        points = {}
        for place, name in self.names.items():
            x, y = _text(place.x), _text(place.y)
            if (longest := max(len(x), len(y))) > _LONGEST_TEXT:
                found = f"a coordinate of {longest:,} characters"
                raise Unsupported(self.source, "", found, f"at most {_LONGEST_TEXT:,}")
            points[name] = x, y
        title = printable((picture.title or self.path.stem).encode(errors="replace").decode())
        lines = points, corners, inner, creases, loops, paths, 1 if loops or paths else None
        return Document(*lines, title, "mm", self.source, notes=tuple(self.notes(picture)), drawn=self.drawn)

    def notes(self, picture: Picture) -> Iterator[str]:
        """What was assumed in reading the drawing, and what may be meant otherwise."""
        if picture.assumed:
            yield f"the drawing states no size: {picture.assumed}"
        if picture.rounded:
            turns = ", ".join(f"{turn:.10g}° as {rounded:.10g}°" for turn, rounded in picture.rounded[:_FEW])
            more = ", …" if len(picture.rounded) > _FEW else ""
            yield f"turns are rounded, so that their cosines and sines are rational: {turns}{more}"
        if picture.of_curves and self.how.flatten is not None:
            became = f"its curves are {picture.of_curves} lines within {float(self.how.flatten):g} mm of them"
            yield f"{became}: a larger --flatten makes fewer and longer ones, which fold better"
        slight, every = _hardly_bent(self.loops), sum(map(len, self.loops))
        if not picture.of_curves and slight >= _MANY and 2 * slight > every:
            traced = f"{slight} of the {every} corners bend by less than {_SLIGHT}°: if this was traced"
            yield f"{traced}, let the drawing program simplify it, since each corner takes folds"
        yield from self.taken[:_FEW]
        if len(self.taken) > _FEW:
            yield f"so are {len(self.taken) - _FEW} more"
        for shape in self.backgrounds if len(self.loops) + len(self.paths) > len(self.backgrounds) else ():
            what = f"{shape} covers the whole page and is taken as target, too"
            if len(self.loops) > len(self.backgrounds):
                what += ", so the page is the figure, and what is drawn on it is cut out of it"
            rule = f"--line {_rule_for(shape)}"
            yield f"{what}: if it is only a background, {rule}:ignore leaves it out, {rule}:border makes it the sheet"
        if self.widest >= _BROAD:
            drawn = f"open lines that are drawn {self.widest:.3g} mm wide are cut along their middles"
            yield f"{drawn} (--strokes outline, with the extra strokes, cuts round what is painted)"


def _hardly_bent(outlines: Iterable[Sequence[Point]]) -> int:
    """How many corners of outlines turn by less than `_SLIGHT` degrees. In floats."""
    count = 0
    for outline in outlines:
        places = [complex(float(p.x), float(p.y)) for p in outline]
        ways = [there - here for here, there in around(places) if there != here]
        count += sum(abs(phase(after / before)) < radians(_SLIGHT) for before, after in around(ways))
    return count


def _rule_for(shape: Shape) -> str:
    """What a rule can know a shape by: its id if it has one, else its tag."""
    return f"id={shape.element.id}" if shape.element.id else f"element={shape.element.tag}"


def _looks(shape: Shape) -> str:
    """What rules may ask about a shape, in the words of rules."""
    parts = [f"stroke={colour(shape.style.values['stroke'])}", f"dash={shape.style.values['stroke-dasharray']}"]
    parts += [f"class={c}" for c in sorted(shape.within.classes)] + [f"layer={c}" for c in sorted(shape.within.layers)]
    text = ", ".join(parts)
    return text if len(text) <= 200 else text[:190] + "…"


def _straight(points: Sequence[Point]) -> bool:
    return all(not cross(points[0], points[1], p) for p in points[2:])


def _shown(place: Point) -> str:
    return f"({float(place.x):.6g}, {float(place.y):.6g})"


def _text(value: Number) -> str:
    """A number as a decimal if it has a short one, else as a fraction or an expression."""
    return rational_text(value.as_fraction(), 12) if value.is_rational else value.text()
