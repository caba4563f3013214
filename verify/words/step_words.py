"""A step of a recipe for hands: edge onto edge, corner onto corner, along a crease made before."""

from __future__ import annotations

from collections.abc import Collection
from itertools import chain

from verify.folding.steps import Folded
from verify.pattern.recipe import Alignment, FoldStep, MarkStep, Recipe, Step, TurnStep, UnfoldStep
from verify.words.findings import counted, enumerated
from verify.words.sight import Sight
from verify.words.speaker import AtTheCut, Made, OnPaper, Seen, Speaker

LIGHT = "out of sight here"  # what `light_words` say of some things, if they say anything


def step_words(folded: Folded, number: int) -> str:
    """Step `number` (from 1) in words; marks are called what they are on the sheet: ends of edges, sides of the target,
    creases. Marks of later steps that its crease makes are introduced.
    """
    words = OnPaper(folded, number).step(folded.recipe.steps[number - 1])
    return "; ".join([words, *(f"{name} is {where}" for name, where in new_marks(folded, number).items())])


def new_marks(folded: Folded, number: int, silent: Collection[int] = ()) -> dict[str, str]:
    """The marks that nothing shows on the paper before step `number` (from 1), where its crease makes them, and that
    later steps or the cut speak of; each with where it is, by name, as one sees it from above. `silent`: steps that are
    told without a mark.
    """
    if number > len(folded.done):
        return {}
    end = OnPaper(folded, len(folded.done) + 1)
    steps = folded.recipe.steps
    along = folded.recipe.along
    spoken = [() if n in silent else _spoken_of(step) for n, step in enumerate(steps, start=1)]
    spoken.append(along.marks if along is not None else ())
    known = {*chain(*spoken[:number]), *(step.name for step in steps if isinstance(step, MarkStep))}
    found: dict[str, Made | None] = {}
    for step, names in enumerate(spoken[number:], start=number + 1):
        new = [name for name in names if name not in known and name not in found and end.is_on_crease(name, number)]
        found |= {name: end.made_before(step, name) for name in new}
    made = {name: at for name, at in sorted(found.items()) if at is not None and at.step == number}
    if not made:
        return {}
    sight = Sight(folded, number)
    return {name: end.where_seen(name, at, sight) for name, at in made.items()}


def marks_before(folded: Folded, first: int, last: int) -> list[tuple[int, str, str]]:
    """The marks of which the steps `first` to `last` speak and that the creases of earlier steps make: the step, the
    mark, and where it is.
    """
    spoken = {name for step in folded.recipe.steps[first - 1 : last] for name in _spoken_of(step)}
    made = ((number, new_marks(folded, number)) for number in range(1, first))
    return [(number, name, where) for number, marks in made for name, where in marks.items() if name in spoken]


def marks_spoken_of(recipe: Recipe) -> set[str]:
    """The marks that its steps or its cut name."""
    cut = recipe.along.marks if recipe.along is not None else ()
    return {*chain(*map(_spoken_of, recipe.steps)), *cut}


def lines_spoken_of(folded: Folded, number: int) -> list[tuple[str, str]]:
    """The lines of which the alignment of step `number` (from 1) speaks, by the marks that name them, but for those on
    sides of the target.
    """
    step, paper = folded.recipe.steps[number - 1], OnPaper(folded, number)
    lines = paper.named_by(step.alignment)[1] if isinstance(step, FoldStep) else []
    return [line for line in lines if not paper.line(*line).startswith("side")]


def _spoken_of(step: Step) -> tuple[str, ...]:
    if isinstance(step, FoldStep):
        return (*step.alignment.marks, step.moves)
    if isinstance(step, MarkStep):
        return tuple(chain(*(line for line in step.crossing if not isinstance(line, int))))
    return ()


def plain_words(step: Step) -> str:
    """A step in words, of a recipe that was only read: marks and lines have their names alone."""
    return Speaker().step(step)


def alignment_words(folded: Folded, number: int, alignment: Alignment) -> str:
    """The alignment of step `number` (from 1) in words; what lies on the outside of the paper is called as it is seen:
    the left edge, the top right corner. A fold that halves the paper says so first.
    """
    seen = Seen(folded, number)
    half = seen.half()
    if half is None:
        return seen.alignment(alignment)
    words = OnPaper(folded, number).alignment(alignment)
    return seen.half_by_edges(half, alignment) or f"in half, {half[0]} onto {half[1]}, {words}"


def cut_words(folded: Folded) -> str:
    """How the recipe says that hands find the line of the cut, if it does: as an alignment, its marks by their names
    alone.
    """
    along = folded.recipe.along
    return AtTheCut(folded, len(folded.done) + 1).alignment(along) if along is not None else ""


def sentence(folded: Folded, number: int, silent: Collection[int] = ()) -> str:
    """Step `number` (from 1) for the person who folds, in sentences that speak of the paper as it is seen. `silent`:
    steps that are told without a mark.
    """
    step = folded.recipe.steps[number - 1]
    if isinstance(step, FoldStep):
        paper = OnPaper(folded, number)
        way = "over, towards you" if step.direction == "over" else "behind, away from you"
        fold = alignment_words(folded, number, step.alignment)
        which, made = _which_layers(paper, step), made_words(folded, number, silent)
        line = "along the line " if fold.startswith("through") else ""
        return f"Fold {line}{fold}. Bring the part with {step.moves} {way}{which}.{made}"
    if isinstance(step, TurnStep):
        return "Turn the paper over, left to right."
    words = plain_words(step)
    words = f"{words[:1].upper()}{words[1:]}"
    if isinstance(step, UnfoldStep):
        left = "its crease stays as a guide line" if step.folds == 1 else "their creases stay as guide lines"
        return f"{words}; {left}."
    return f"{words}."


def _which_layers(paper: OnPaper, step: FoldStep) -> str:
    """Which layers a fold takes, after a comma; of a single layer there is nothing to say."""
    bent = paper.bent()
    if step.layers == "all":
        return "" if bent == 1 else ", all layers together"
    if step.layers == "flap":
        return f", but only the flap that holds {step.moves}" + (f" ({counted(bent, 'layer')})" if bent else "")
    return f", but only {paper.counted_layers(step)}"


def made_words(folded: Folded, number: int, silent: Collection[int] = ()) -> str:
    """The marks that step `number` (from 1) makes, in a sentence with a space before it. `silent`: steps that are told
    without a mark.
    """
    made = new_marks(folded, number, silent)
    if len(made) > 1:
        return f" New places: {'; '.join(f'{name}, {where}' for name, where in made.items())}."
    return "".join(f" The place {where} is called {name}." for name, where in made.items())


def light_words(folded: Folded, number: int, printed: bool = True) -> str:
    """What to do where step `number` (from 1) speaks of lines or marks that are out of sight, with a space before it.
    `printed`: whether the figure's outline is on the paper.
    """
    step = folded.recipe.steps[number - 1]
    if not isinstance(step, FoldStep):
        return ""
    seen = Seen(folded, number)
    if seen.half():
        return ""
    behind = step.direction == "behind"
    print_hidden = printed and (seen.print_hidden(step.alignment) or seen.dots_hidden(step.alignment))
    hidden = seen.out_of_sight(step.alignment, behind, printed)
    if not hidden and not print_hidden:
        return ""
    things = ["printed lines"] * print_hidden + hidden
    words = enumerated(things)
    verb = "are" if print_hidden or len(things) > 1 else "is"
    turned = not print_hidden and not seen.out_of_sight(step.alignment, True, printed)
    light = ", or turn it over" if turned else ""
    if words.split()[0] not in folded.marks:  # names stay as they are
        words = f"{words[:1].upper()}{words[1:]}"
    return f" {words} {verb} {LIGHT}: hold the paper up to the light{light}."
