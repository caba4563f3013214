"""Recipe documents: a list of folds, one after another, as a person performs them.

Reading checks the form only, as `verify.pattern.document` does for patterns; where a fold goes and
whether the paper allows it is for `verify.folding.steps`.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, fields, replace
from functools import cached_property
from itertools import chain
from pathlib import Path
from typing import Any, ClassVar, Literal, NoReturn

from verify.pattern.document import RECIPE_FORMAT, Document, Reader, perhaps
from verify.pattern.source import TWO_BRACKETS, as_bytes, content_of, from_python, parse, remarks_in, show

LIMIT_STEPS = 200
_STEPS = ("fold", "mark", "unfold", "turn")

Direction = Literal["over", "behind"]
Layers = Literal["all", "flap"] | int
AlignmentKind = Literal[
    "through",
    "point-onto-point",
    "line-onto-line",
    "square",
    "point-onto-line",
    "point-onto-line-square",
    "two-points-onto-two-lines",
]


_ALIGNMENTS: dict[AlignmentKind, dict[str, int]] = {
    "through": {"through": 2},
    "point-onto-point": {"point": 1, "onto": 1},
    "line-onto-line": {"line": 2, "onto": 2},
    "square": {"square": 2, "through": 1},
    "point-onto-line": {"point": 1, "onto": 2, "through": 1, "landing": 0},
    "point-onto-line-square": {"point": 1, "onto": 2, "square": 2},
    "two-points-onto-two-lines": {"points": 2, "onto": 4},
}
"""The keys of each alignment, and how many marks each of them names: the two of a line, the four of two lines."""


@dataclass(frozen=True)
class Alignment:
    """Where a fold goes, by the names of marks.

    `kind` and `marks`: through (p, q); point-onto-point (p, q); line-onto-line (a, b, c, d): line ab onto line cd, a→b
    along c→d; square (a, b, p): square to ab through p; point-onto-line (p, a, b, q): p onto ab, through q, `landing`
    first or second along a→b; point-onto-line-square (p, a, b, c, d): p onto ab, square to cd;
    two-points-onto-two-lines (p, q, a, b, c, d): the cubic one, which this version does not decide.
    """

    kind: AlignmentKind
    marks: tuple[str, ...]
    landing: Literal["first", "second"] | None = None


@dataclass(frozen=True)
class FoldStep:
    """Fold along the line of `alignment`: the side with the mark `moves` goes over or behind; `layers` of it."""

    alignment: Alignment
    moves: str
    direction: Direction = "over"
    layers: Layers = "all"


LineName = tuple[str, str] | int
"""How a step names a line: by two marks on it, or by the number of the step that folded along it."""


@dataclass(frozen=True)
class MarkStep:
    """Name a new mark where two lines cross: each through two marks, or the line of an earlier step (its number)."""

    name: str
    crossing: tuple[LineName, LineName]
    on: str | None = None


@dataclass(frozen=True)
class UnfoldStep:
    """Open the last `folds` folds again; their creases stay as guide lines."""

    folds: int


@dataclass(frozen=True)
class TurnStep:
    """Turn the folded paper over, left to right."""


Step = FoldStep | MarkStep | UnfoldStep | TurnStep


@dataclass(frozen=True, kw_only=True)
class Recipe(Document):
    """A recipe document of format `creaseproof-recipe/1`, checked for form: no creases, but `steps`.

    `steps` are expanded: a step for several marks alike stands here once for each; `places[k]` is the document's key of
    step k. `written` are the steps as the document has them; `along` is where the scissors go, if the document says so.
    """

    places: tuple[str, ...] = ()
    written: tuple[Mapping[str, Any], ...] = field(default=(), compare=False)
    along: Alignment | None = None
    along_written: Mapping[str, Any] | None = field(default=None, compare=False)

    format: ClassVar[str] = RECIPE_FORMAT
    noun: ClassVar[str] = "recipe"

    @staticmethod
    def on(base: Document, **steps: Any) -> Recipe:
        """A recipe on a pattern's sheet and for its target; `steps`: what it says of its own."""
        return Recipe(**{one.name: getattr(base, one.name) for one in fields(Document)} | {"creases": ()} | steps)

    @cached_property
    def base(self) -> Document:
        return Document(**{one.name: getattr(self, one.name) for one in fields(Document)} | {"steps": ()})

    @property
    def size(self) -> dict[str, int]:
        return {"steps": len(self.steps)}

    def as_pattern(self, expected: str = "a pattern") -> NoReturn:
        raise self.malformed("format", "a recipe", expected)

    def as_recipe(self, expected: str = "a recipe") -> Recipe:
        return self

    def content(self) -> tuple[bytes, bool]:
        """As of a pattern. `Malformed` where a changed copy says other `steps` than those that are `written`."""
        again = read_any(self.keys()).as_recipe()
        if (again.steps, again.along) != (self.steps, self.along):
            raise self.malformed("steps", "`steps` or `along` unlike what is `written`", "both changed alike")
        return super().content()

    def statement(self) -> dict[str, Any]:
        """The canonical statement whose digest the certificate carries (SPECIFICATION §10)."""
        keys = super().statement()
        del keys["creases"]
        keys["steps"] = [dict(s) for s in self.written]
        if self.along_written is not None:
            keys["cut"] = {**(keys.get("cut") or {}), "along": dict(self.along_written)}
        return keys


def load_any(path: str | Path | Document) -> Document:
    """Read a pattern or a recipe from a file, by its `format` (one that was read comes back as it is). Raises
    `Malformed`, and `TypeError` for what is neither.
    """
    if isinstance(path, Document):
        return path
    if not isinstance(path, str | Path):
        found = type(path).__name__
        raise TypeError(f"found a {found}; expected a document or the path of its file (verify.read reads a dict)")
    data, toml = content_of(path)
    return read_any(data, source=str(path), toml=toml)


def read_any(
    content: bytes | str | Mapping[str, Any], *, source: str = "document", toml: bool | None = None
) -> Document:
    """Read a pattern or a recipe, by its format or, where that is missing, for it has steps, from text, bytes or a
    mapping with a document's keys. Raises `Malformed`, and `TypeError` for what is none of these.
    """
    data: bytes | None = None
    if isinstance(content, Mapping):
        keys, toml = from_python(content), False
    elif not isinstance(content, bytes | str):
        found = type(content).__name__
        raise TypeError(f"found a {found}; expected text, bytes or a mapping with a document's keys")
    else:
        data, toml = as_bytes(content, source, toml)
        keys = parse(source, data, toml)
    if isinstance(keys, Mapping) and keys.get("format", RECIPE_FORMAT if "steps" in keys else "") == RECIPE_FORMAT:
        document: Document = _RecipeReader(source, data, toml).recipe(keys)
    else:
        document = Reader(source, data, toml).document(keys)
    if data is None:
        return document
    return replace(document, stated=document.statement_sha256, notes=remarks_in(data, toml))


def recipe_on(
    document: Document,
    steps: Iterable[Mapping[str, Any]],
    marks: Mapping[str, Sequence[str]],
    along: Mapping[str, Any] | None = None,
) -> Recipe:
    """The recipe of some steps on a document's sheet and for its target, with more marks, cut `along` an alignment."""
    keys = {key: value for key, value in document.keys().items() if key != "creases"}
    keys |= {"format": RECIPE_FORMAT, "steps": list(steps), "points": keys["points"] | marks}
    keys |= {} if along is None else {"cut": {"along": along}}
    return read_any(keys, source=document.source).as_recipe()


class _RecipeReader(Reader):
    format = RECIPE_FORMAT
    known_names = "a name listed in [points] or marked by an earlier step"

    def recipe(self, keys: Any) -> Recipe:
        self.depth(keys)
        self.table(
            "", keys, ("format", "points", "sheet", "steps"), ("title", "unit", "target", "cut"), first=("format",)
        )
        plain = {k: v for k, v in keys.items() if k not in ("steps", "cut")} | {"format": Document.format}
        along_written = None
        if "cut" in keys:
            self.table("cut", keys["cut"], (), ("snips", "along"))
            along_written = keys["cut"].get("along")
            rest = {k: v for k, v in keys["cut"].items() if k != "along"}
            if rest or "target" in keys:
                plain["cut"] = rest
        base = self.document(plain)
        if along_written is not None and base.snips not in (None, 1):
            self.fail("cut.snips", str(base.snips), '1 (or nothing) beside "along"')
        written = keys["steps"]
        if not isinstance(written, list) or not written:
            alone = f'a figure alone has no "steps", and the format "{Document.format}"'
            expected = f"a list of at least one step ({alone})"
            is_one = self.toml and isinstance(written, dict)
            self.fail("steps", show(written), TWO_BRACKETS if is_one else expected)
        names = set(base.points)
        steps: list[Step] = []
        places: list[str] = []
        for i, value in enumerate(written):
            for step in self.step(f"steps[{i}]", value, names, steps):
                steps.append(step)
                places.append(f"steps[{i}]")
                if len(steps) > LIMIT_STEPS:
                    self.fail(f"steps[{i}]", f"more than {LIMIT_STEPS} steps", f"at most {LIMIT_STEPS}")
        along = self.alignment("cut.along", along_written, names) if along_written is not None else None
        return Recipe.on(
            base,
            steps=tuple(steps),
            places=tuple(places),
            written=tuple(written),
            along=along,
            along_written=along_written,
        )

    def step(self, place: str, value: Any, names: set[str], before: list[Step]) -> list[Step]:
        if not isinstance(value, dict):
            self.fail(place, show(value), "a table with one of the keys " + ", ".join(_STEPS))
        kinds = [k for k in _STEPS if k in value]
        if len(kinds) != 1:
            found = " and ".join(kinds or value) or "nothing in it"
            hints = "" if kinds else "".join(perhaps(key, _STEPS) for key in value)
            self.fail(place, found, "one of the keys " + ", ".join(_STEPS) + hints)
        if kinds[0] == "fold":
            return self.fold(place, value, names)
        if kinds[0] == "mark":
            self.table(place, value, ("mark", "crossing"), ("on",))
            return [self.mark(place, value, names, before)]
        self.table(place, value, (kinds[0],), ())
        if kinds[0] == "turn":
            if value["turn"] != "over":
                self.fail(f"{place}.turn", show(value["turn"]), '"over"')
            return [TurnStep()]
        count = self.whole(f"{place}.unfold", value["unfold"])
        standing = sum(
            1 if isinstance(x, FoldStep) else -x.folds for x in before if isinstance(x, FoldStep | UnfoldStep)
        )
        if count > standing:
            self.fail(place, f"unfold {count}, with {standing} left to open", "no more than that")
        return [UnfoldStep(count)]

    def fold(self, place: str, value: dict[str, Any], names: set[str]) -> list[Step]:
        self.table(place, value, ("fold", "moves"), ("direction", "layers", "each"))
        direction = value.get("direction", "over")
        if direction not in ("over", "behind"):
            self.fail(f"{place}.direction", show(direction), '"over" or "behind"')
        layers = value.get("layers", "all")
        if not isinstance(layers, str):
            layers = self.whole(f"{place}.layers", layers)
        elif layers not in ("all", "flap"):
            self.fail(f"{place}.layers", show(layers), '"all", "flap", or how many')
        each = [None]
        if "each" in value:
            each = value["each"]
            if not isinstance(each, list) or not each:
                self.fail(f"{place}.each", show(each), "a list of marks")
            if "?" not in json.dumps([value["fold"], value["moves"]], default=str):
                self.fail(f"{place}.each", 'no "?" in fold or moves', 'the name "?" where each mark is to stand')
        steps: list[Step] = []
        for mark in each:
            if mark is not None:
                self.known(f"{place}.each", mark, names)
            alignment = self.alignment(f"{place}.fold", _with(mark, value["fold"]), names)
            moves = self.known(f"{place}.moves", _with(mark, value["moves"]), names)
            steps.append(FoldStep(alignment, moves, direction, layers))
        return steps

    def mark(self, place: str, value: dict[str, Any], names: set[str], before: list[Step]) -> MarkStep:
        name = value["mark"]
        if type(name) is not str or not name:
            self.fail(f"{place}.mark", show(name), "a new name")
        self.whole_text(f"{place}.mark", name)
        if name in names:
            self.fail(f"{place}.mark", f'the name "{name}" again', "a name that is not taken")
        crossing = value["crossing"]
        if not isinstance(crossing, list) or len(crossing) != 2:
            expected = "two lines, each [mark, mark] or the number of an earlier fold step"
            self.fail(f"{place}.crossing", show(crossing), expected)
        lines: list[LineName] = []
        for line in crossing:
            if isinstance(line, list):
                lines.append(self.pair(f"{place}.crossing", line, names))
                continue
            number = self.whole(f"{place}.crossing", line)
            if number > len(before) or not isinstance(before[number - 1], FoldStep):
                self.fail(f"{place}.crossing", f"step {number}", "the number of an earlier fold step")
            lines.append(number)
        on = value.get("on")
        if on is not None:
            self.known(f"{place}.on", on, names)
        names.add(name)
        return MarkStep(name, (lines[0], lines[1]), on)

    def known(self, place: str, name: Any, names: set[str]) -> str:
        return self.name(place, name, dict.fromkeys(names))

    def pair(self, place: str, value: Any, names: set[str]) -> tuple[str, str]:
        if not isinstance(value, list) or len(value) != 2:
            self.fail(place, show(value), "two marks")
        return self.known(place, value[0], names), self.known(place, value[1], names)

    def alignment(self, place: str, value: Any, names: set[str]) -> Alignment:
        if not isinstance(value, dict):
            self.fail(place, show(value), "an alignment such as { through = [p, q] }")
        for kind, marks in _ALIGNMENTS.items():
            if value.keys() == marks.keys():
                landing = value.get("landing")
                if "landing" in value and landing not in ("first", "second"):
                    self.fail(f"{place}.landing", show(landing), '"first" or "second"')
                named = [self.marks(f"{place}.{key}", value[key], count, names) for key, count in marks.items()]
                return Alignment(kind, tuple(chain(*named)), landing)
        every = [marks for kind, marks in _ALIGNMENTS.items() if kind != "two-points-onto-two-lines"]
        near = [marks for marks in every if value and value.keys() < marks.keys()] or every
        forms = ["{" + ", ".join(marks) + "}" for marks in near]
        found = ("the keys " if len(value) != 1 else "only the key ") + ", ".join(sorted(map(str, value)))
        self.fail(place, found, " or ".join(filter(None, (", ".join(forms[:-1]), forms[-1]))))

    def marks(self, place: str, value: Any, count: int, names: set[str]) -> tuple[str, ...]:
        if count == 1:
            return (self.known(place, value, names),)
        if count == 2:
            return self.pair(place, value, names)
        if count and (not isinstance(value, list) or len(value) != 2):
            self.fail(place, show(value), "two lines, each of two marks")
        return tuple(chain(*(self.pair(place, line, names) for line in value))) if count else ()


def _with(mark: str | None, value: Any) -> Any:
    """A part of a step with a mark in place of each "?"; as it is without one."""
    if isinstance(value, dict):
        return {key: _with(mark, one) for key, one in value.items()}
    if isinstance(value, list):
        return [_with(mark, one) for one in value]
    return mark if value == "?" and mark is not None else value
