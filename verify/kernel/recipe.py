"""The steps of a recipe as its document says them, one after the other, and what they may speak of."""

from typing import NamedTuple

from .alignment import FORMS, Alignment
from .expression import DIGITS
from .reading import DOCUMENT, Json, Malformed, Names, quoted, require

STEPS = 200
Marks = dict[str, str]  # all that there are so far, by their names, and the one that "?" stands for


class FoldStep(NamedTuple):
    alignment: Alignment
    moves: str  # a mark on the side that moves
    over: bool  # or else behind
    layers: str | int  # "all", "flap", or how many


class MarkStep(NamedTuple):
    name: str
    folds: list[int]  # earlier steps; with `through` two lines that cross
    through: list[Names]  # two marks each
    on: Names  # the mark whose layers it is on, or none


class UnfoldStep(NamedTuple):
    folds: int  # how many


class TurnStep(NamedTuple):
    """The whole paper is turned over."""


Step = FoldStep | MarkStep | UnfoldStep | TurnStep


def known(value: object, where: str, marks: Marks) -> str:
    """A point or a mark by its name."""
    name = DOCUMENT.text(value, where)
    require(name in marks, "document.name", f"{where}: no point or mark {quoted(name)} so far", Malformed)
    return marks[name]


def several(value: object, where: str, marks: Marks, count: int) -> Names:
    """So many marks: one by its name, two as a list, four as a list of two such lists."""
    if count == 1:
        return (known(value, where, marks),)
    halves = [several(half, where, marks, count // 2) for half in DOCUMENT.items(value, where, 2, 2)]
    return halves[0] + halves[1]


def read_alignment(value: object, where: str, marks: Marks) -> Alignment:
    root = DOCUMENT.table(value, where, (), {key for form in FORMS for key in form.split()})
    form = next((form for form in FORMS if root.keys() == {*form.split()}), "")
    require(form in FORMS, "document.key", f"{where}: no alignment has these keys", Malformed)
    found: Names = ()
    for key, count in zip(form.split(), FORMS[form].counts, strict=False):  # a last "landing" names no mark
        found += several(root[key], where, marks, count)
    landing = DOCUMENT.text(root.get("landing", "first"), where, ("first", "second"))
    return Alignment(form, found, 1 if landing == "second" else -1)


def read_folds(root: Json, where: str, marks: Marks) -> list[FoldStep]:
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
    return [
        FoldStep(read_alignment(root["fold"], where, called), known(root["moves"], where, called), over, layers)
        for called in repeated
    ]


def read_mark(root: Json, where: str, marks: Marks, steps: list[Step]) -> Step:
    """A step that gives a name to a place; adds the name to the marks."""
    DOCUMENT.table(root, where, ("mark", "crossing"), ("on",))
    lines = DOCUMENT.items(root["crossing"], where, 2, 2)
    through = [several(item, where, marks, 2) for item in lines if isinstance(item, list)]
    folds = [DOCUMENT.whole(item, where, 1, len(steps) + 1) for item in lines if not isinstance(item, list)]
    for k in folds:
        require(isinstance(steps[k - 1], FoldStep), "document.range", f"{where}: step {k} is no fold", Malformed)
    on = (known(root["on"], where, marks),) if "on" in root else ()
    name = DOCUMENT.text(root["mark"], where)
    require(name not in {"", *marks}, "document.name", f"{where}: the new name is empty or taken", Malformed)
    marks[name] = name
    return MarkStep(name, folds, through, on)


def standing(steps: list[Step]) -> int:
    """How many folds there are that are not unfolded."""
    folds = sum(isinstance(step, FoldStep) for step in steps)
    return folds - sum(step.folds for step in steps if isinstance(step, UnfoldStep))


def read_steps(value: object, marks: Marks) -> list[Step]:
    """All steps, as many times as they are to be done; adds the new marks."""
    steps: list[Step] = []
    for where, item in DOCUMENT.each(value, "steps", 1, STEPS):
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
