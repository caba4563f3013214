"""The document of a recipe: folds of a sheet, made one after the other, as the specification's section 10 says."""

from collections.abc import Set
from typing import NamedTuple

from .alignment import FORMS, UNSUPPORTED, Alignment
from .expression import DIGITS
from .reading import DOCUMENT, Malformed, quoted, require
from .statement import Names, Statement, parse, statement_of

FORMAT = "creaseproof-recipe/1"
STEPS = 200
Json = dict[str, object]
Marks = dict[str, str]  # all that there are so far, by their names, and the one that "?" stands for


class FoldStep(NamedTuple):
    alignment: Alignment
    moves: str  # a mark on the side that moves
    over: bool  # or else behind
    layers: str | int  # "all", "flap", or how many


class MarkStep(NamedTuple):
    name: str
    crossing: list[Names | int]  # two lines, through two marks or of an earlier step
    on: str | None


class UnfoldStep(NamedTuple):
    folds: int  # how many


class TurnStep(NamedTuple):
    """The whole paper is turned over."""


Step = FoldStep | MarkStep | UnfoldStep | TurnStep


class Recipe(NamedTuple):
    """What the document of a recipe says beside the statement that it has in common with a pattern."""

    steps: list[Step]
    along: Alignment | None  # of a cut that is claimed


def known(value: object, where: str, marks: Marks) -> str:
    """A mark by its name."""
    name = DOCUMENT.text(value, where)
    require(name in marks, "document.name", f"{where}: no mark {quoted(name)} so far", Malformed)
    return marks[name]


def known_pair(value: object, where: str, marks: Marks) -> Names:
    return tuple(known(mark, where, marks) for mark in DOCUMENT.items(value, where, 2, 2))


def form_with(keys: Set[str], where: str) -> str:
    """The form of alignment that has just these keys."""
    for form in FORMS:
        if keys == {*form.split()}:
            return form
    raise Malformed("document.key", f"{where}: no alignment has these keys")


def read_alignment(value: object, where: str, marks: Marks) -> Alignment:
    every_key = {"points", *(key for form in FORMS for key in form.split())}
    root = DOCUMENT.table(value, where, (), every_key)
    if root.keys() == {"points", "onto"}:
        lines = DOCUMENT.items(root["onto"], where, 2, 2)
        named = [known_pair(pair, where, marks) for pair in (root["points"], *lines)]
        return Alignment(UNSUPPORTED, tuple(name for pair in named for name in pair))
    form = form_with(root.keys(), where)
    found: list[str] = []
    for key, count in zip(
        form.split(), FORMS[form].counts, strict=False
    ):  # "landing", the last of its form, names no mark
        found.extend([known(root[key], where, marks)] if count == 1 else known_pair(root[key], where, marks))
    landing = DOCUMENT.text(root.get("landing", "first"), where, ("first", "second"))
    return Alignment(form, tuple(found), 1 if landing == "second" else -1)


def read_folds(root: Json, where: str, marks: Marks) -> list[Step]:
    """A fold step; one that is for several marks, once for each."""
    DOCUMENT.table(root, where, ("fold", "moves"), ("direction", "layers", "each"))
    over = DOCUMENT.text(root.get("direction", "over"), where, ("over", "behind")) == "over"
    layers = root.get("layers", "all")
    if not isinstance(layers, str) or layers not in ("all", "flap"):
        layers = DOCUMENT.whole(layers, where, 1, 10**DIGITS)
    repeated = [marks]
    if "each" in root:
        listed = DOCUMENT.items(root["each"], where, 1, STEPS)
        repeated = [marks | {"?": known(mark, where, marks)} for mark in listed]
    steps: list[Step] = []
    for called in repeated:
        alignment = read_alignment(root["fold"], where, called)
        steps.append(FoldStep(alignment, known(root["moves"], where, called), over, layers))
    return steps


def read_crossed(value: object, where: str, marks: Marks, steps: list[Step]) -> Names | int:
    """A line through two marks, or that of an earlier step."""
    if isinstance(value, list):
        return known_pair(value, where, marks)
    k = DOCUMENT.whole(value, where, 1, len(steps) + 1)
    require(isinstance(steps[k - 1], FoldStep), "document.range", f"{where}: step {k} is no fold", Malformed)
    return k


def read_mark(root: Json, where: str, marks: Marks, steps: list[Step]) -> Step:
    """A step that gives a name to a place; adds the name to the marks."""
    DOCUMENT.table(root, where, ("mark", "crossing"), ("on",))
    lines = DOCUMENT.items(root["crossing"], where, 2, 2)
    crossing = [read_crossed(item, where, marks, steps) for item in lines]
    on = known(root["on"], where, marks) if "on" in root else None
    name = DOCUMENT.text(root["mark"], where)
    require(name not in {"", *marks}, "document.name", f"{where}: the new name is empty or taken", Malformed)
    marks[name] = name
    return MarkStep(name, crossing, on)


def standing(steps: list[Step]) -> int:
    """How many folds there are that are not unfolded."""
    folds = sum(isinstance(step, FoldStep) for step in steps)
    return folds - sum(step.folds for step in steps if isinstance(step, UnfoldStep))


def read_steps(value: object, marks: Marks) -> list[Step]:
    """All steps, as many times as they are to be done; adds the new marks."""
    steps: list[Step] = []
    for i, item in enumerate(DOCUMENT.items(value, "steps", 1, STEPS)):
        where = f"steps[{i}]"
        root = DOCUMENT.table(item, where, (), None)
        if "fold" in root:
            steps.extend(read_folds(root, where, marks))
        elif "mark" in root:
            steps.append(read_mark(root, where, marks, steps))
        elif "unfold" in root:
            DOCUMENT.table(root, where, ("unfold",))
            steps.append(UnfoldStep(DOCUMENT.whole(root["unfold"], where, 1, standing(steps) + 1)))
        else:
            DOCUMENT.table(root, where, ("turn",))
            DOCUMENT.text(root["turn"], where, ("over",))
            steps.append(TurnStep())
        require(len(steps) <= STEPS, "document.length", f"{where}: more than {STEPS} steps", Malformed)
    return steps


def check_decided(steps: list[Step], along: Alignment | None) -> None:
    """Assumes (and checks) that no alignment is of the form that this version does not decide."""
    asked = [step.alignment for step in steps if isinstance(step, FoldStep)]
    if along is not None:
        asked.append(along)
    cubic = any(alignment.form == UNSUPPORTED for alignment in asked)
    require(not cubic, "document.unsupported", "an alignment carries two points onto two lines")


def read_recipe(root: Json) -> tuple[Statement, Recipe]:
    """The statement of a recipe, which has its steps as they are written, and the steps as they are to be done."""
    DOCUMENT.table(root, "document", ("format", "points", "sheet", "steps"), ("title", "unit", "target", "cut"))
    cut = DOCUMENT.table(root.get("cut", {}), "cut", (), ("snips", "along"))
    marks = {name: name for name in DOCUMENT.table(root["points"], "points", (), None)}
    steps = read_steps(root["steps"], marks)
    along = read_alignment(cut["along"], "cut.along", marks) if "along" in cut else None
    common = {key: value for key, value in root.items() if key not in ("steps", "cut")}
    if "snips" in cut:
        common["cut"] = {"snips": cut["snips"]}
    written = dict(cut)
    if "target" in root:
        written["snips"] = cut.get("snips", 1)
    statement = statement_of(common, {"format": FORMAT, "steps": root["steps"], "cut": written or None})
    require(along is None or statement.snips <= 1, "document.key", "cut: along and many snips", Malformed)
    check_decided(steps, along)
    return statement, Recipe(steps, along if statement.snips else None)


def read_document(data: bytes, toml: bool) -> tuple[Statement, Recipe | None]:
    """The statement of a pattern or a recipe, and of a recipe its steps; says nothing on the geometry."""
    root = parse(data, toml)
    if isinstance(root, dict) and root.get("format") == FORMAT:
        return read_recipe(root)
    return statement_of(root), None
