"""The paper in motion: how panels go from state to state. For the eye; nothing of it is proved.

A recipe moves step by step; a pattern by stages that each lie flat (`verify.construct.steps`), or all at once.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from itertools import pairwise
from typing import Any

from verify.construct.steps.collapse import Stages, stages_to
from verify.exact.plane import Point
from verify.folding.paper import State
from verify.folding.steps import Done, Folded
from verify.pattern.limits import LimitReached, Limits
from verify.pattern.recipe import FoldStep, TurnStep, UnfoldStep
from verify.pattern.source import printable
from verify.show.page import XY
from verify.show.scene import Scene, repaints_of
from verify.words.findings import listed
from verify.words.step_words import sentence

_MANY_PLACES = 400_000
_MANY_FACES = 120
_SECONDS = 20.0


@dataclass(frozen=True)
class Moment:
    """A state of the paper at rest, and how it is reached: `move` is `start`, `line` (about it), `turn` (the whole
    turns over), `hinges` (panels turn about the creases that change) or `slide` (the way is not known). `over`: for
    each face those before it in the stack that yet lie over it.
    """

    words: str
    places: Sequence[XY]
    turned: Sequence[bool]
    stack: Sequence[int]
    move: str = "start"
    line: tuple[XY, XY] | None = None
    under: bool = False
    edges: tuple[int, ...] = ()
    over: Mapping[int, Sequence[int]] = field(default_factory=dict)


def moments(scene: Scene) -> list[Moment]:
    """The states from the flat sheet on; empty where nothing moves."""
    steps = scene.result.carried
    if steps is not None:
        many = sum(len(state.images) for state in steps.paper.states)
        return _of_steps(scene, steps) if steps.done and many <= _MANY_PLACES else []
    if scene.folded is None:
        return []
    found = stages_of(scene)
    flat = Moment("", scene.flat, (False,) * len(scene.turned), range(len(scene.turned)))
    if found is None or len(found.stages) < 2:
        everything = tuple(n for n, kind in enumerate(scene.fold_kinds) if kind)
        stack = [f for plate in scene.plates for f in plate.faces]
        words = "All folds together."
        places, over = scene.folded_true or (), scene.repaints
        return [flat, Moment(words, places, scene.turned, stack, "hinges", edges=everything, over=over)]
    return [flat, *_of_stages(scene, found)]


def stages_of(scene: Scene) -> Stages | None:
    """The stages of a pattern's collapse; None where there is no layer order, too many panels, or no time."""
    order = scene.result.order
    if order is None or len(scene.subdivision.faces) > _MANY_FACES:
        return None
    try:
        return stages_to(order, Limits(seconds=_SECONDS))
    except LimitReached:
        return None


def _of_stages(scene: Scene, found: Stages) -> list[Moment]:
    moved = []
    for stage in found.stages:
        words = stage_words(scene, stage.edges, [c.ends for c in stage.creases])
        places, stack = [scene.to_page(p) for p in stage.folded.images], stage.order.stack
        over = repaints_of(stack, stage.order.exceptions)
        moved.append(Moment(words, places, stage.folded.turned, stack, "hinges", edges=stage.edges, over=over))
    return moved


def stage_words(scene: Scene, edges: Sequence[int], ends: Sequence[tuple[int, int]]) -> str:
    """What is folded in a stage, in a sentence."""
    s = scene.subdivision
    kinds = {scene.fold_kinds[n] for n in edges}
    kind = f"{kinds.pop()} " if len(kinds) == 1 else ""
    names = [f"{s.name(a)}–{s.name(b)}" for a, b in ends]
    if len(names) == 1:
        return f"Fold the {kind}line {names[0]}."
    return f"Bring {len(names)} {kind}lines in together: {listed(names, 8)}."


def _of_steps(scene: Scene, folded: Folded) -> list[Moment]:
    states = folded.paper.states

    def at_rest(state: State[Point], words: str, move: str, **how: Any) -> Moment:
        return Moment(words, [scene.to_page(p) for p in state.images], state.turned, state.stack, move, **how)

    found = [at_rest(states[0], "", "start")]
    for number, done in enumerate(folded.done, start=1):
        words = printable(sentence(folded, number))
        turned_about = done if isinstance(done.step, FoldStep) else _opened(folded, number)
        if isinstance(done.step, TurnStep):
            found.append(at_rest(states[number], words, "turn"))
        elif turned_about is not None and turned_about.line is not None:
            a, b = map(scene.to_page, turned_about.line)
            under = isinstance(turned_about.step, FoldStep) and turned_about.step.direction == "behind"
            found.append(at_rest(states[number], words, "line", under=under, line=(a, b)))
        else:
            found.append(at_rest(states[number], words, "slide"))
    return found


def _opened(folded: Folded, number: int) -> Done | None:
    """The one fold that step `number` (from 1) opens again, if that is what it does."""
    if isinstance(folded.done[number - 1].step, UnfoldStep):
        ways = [(before.images, after.images) for before, after in pairwise(folded.paper.states)]
        for done, (before, after) in zip(folded.done, ways, strict=True):
            if isinstance(done.step, FoldStep) and (after, before) == ways[number - 1]:
                return done
    return None


def as_data(found: Sequence[Moment]) -> list[dict[str, Any]]:
    """The moments as the page's script reads them: of each state only the places that moved."""
    data: list[dict[str, Any]] = []
    before: list[list[float]] = []
    for moment in found:
        places = [page_place(p) for p in moment.places]
        moved = [[v, *p] for v, p in enumerate(places) if not before or p != before[v]]
        entry: dict[str, Any] = {
            "words": moment.words,
            "move": moment.move,
            "turned": [int(t) for t in moment.turned],
            "stack": list(moment.stack),
            "moved": moved if before else [],
        }
        if moment.line is not None:
            entry["line"] = [page_place(p) for p in moment.line]
            entry["under"] = moment.under
        if moment.edges:
            entry["edges"] = list(moment.edges)
        if moment.over:
            entry["over"] = {str(g): list(faces) for g, faces in moment.over.items()}
        data.append(entry)
        before = places
    return data


def page_place(p: XY) -> list[float]:
    """A place to a hundredth of a page millimetre."""
    return [round(p.x, 2), round(p.y, 2)]
