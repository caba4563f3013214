"""The paper in motion: how panels go from state to state. For the eye; nothing of it is proved.

A recipe moves step by step; a pattern by stages that each lie flat (`verify.construct.steps`), or all at once.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Any

from verify.construct.steps.collapse import Stage, Stages, stages_to
from verify.folding.steps import Done, Folded
from verify.pattern.limits import LimitReached, Limits
from verify.pattern.recipe import FoldStep, TurnStep, UnfoldStep
from verify.pattern.source import printable
from verify.show.page import XY
from verify.show.paper import FoldedPaper
from verify.show.scene import Scene
from verify.words.findings import listed
from verify.words.step_words import sentence

_MANY_PLACES = 400_000
_MANY_FACES = 120
_SECONDS = 20.0


@dataclass(frozen=True)
class Moment:
    """The paper at rest, and how it comes there: `move` is `start`, `line` (about it), `turn` (the whole turns over),
    `hinges` (panels turn about the creases that change) or `slide` (the way is not known).
    """

    words: str
    paper: FoldedPaper
    move: str = "start"
    line: tuple[XY, XY] | None = None
    under: bool = False
    edges: tuple[int, ...] = ()


def moments(scene: Scene) -> list[Moment]:
    """The states from the flat sheet on; empty where nothing moves."""
    steps = scene.result.carried
    if steps is not None:
        many = sum(len(state.images) for state in steps.paper.states)
        return _of_steps(scene, steps) if steps.done and many <= _MANY_PLACES else []
    if scene.folded is None:
        return []
    found = stages_of(scene)
    flat = Moment("", FoldedPaper.flat(scene))
    if found is None or len(found.stages) < 2:
        everything = tuple(n for n, kind in enumerate(scene.fold_kinds) if kind)
        paper = replace(FoldedPaper.folded(scene), places=scene.folded_true or ())
        return [flat, Moment("All folds together.", paper, "hinges", edges=everything)]
    return [flat, *(_of_stage(scene, stage) for stage in found.stages)]


def stages_of(scene: Scene) -> Stages | None:
    """The stages of a pattern's collapse; None where there is no layer order, too many panels, or no time."""
    order = scene.result.order
    if order is None or len(scene.subdivision.faces) > _MANY_FACES:
        return None
    try:
        return stages_to(order, Limits(seconds=_SECONDS))
    except LimitReached:
        return None


def _of_stage(scene: Scene, stage: Stage) -> Moment:
    s = scene.subdivision
    kinds = {scene.fold_kinds[n] for n in stage.edges}
    kind = f"{kinds.pop()} " if len(kinds) == 1 else ""
    names = [f"{s.name(a)}–{s.name(b)}" for a, b in (crease.ends for crease in stage.creases)]
    words = f"Bring {len(names)} {kind}lines in together: {listed(names, 8)}."
    if len(names) == 1:
        words = f"Fold the {kind}line {names[0]}."
    return Moment(words, FoldedPaper.at_stage(scene, stage), "hinges", edges=stage.edges)


def _of_steps(scene: Scene, folded: Folded) -> list[Moment]:
    found = [Moment("", FoldedPaper.at_step(scene, folded, 0))]
    for number, done in enumerate(folded.done, start=1):
        words, paper = printable(sentence(folded, number)), FoldedPaper.at_step(scene, folded, number)
        turned_about = done if isinstance(done.step, FoldStep) else _opened(folded, number)
        if isinstance(done.step, TurnStep):
            found.append(Moment(words, paper, "turn"))
        elif turned_about is not None and turned_about.line is not None:
            a, b = map(scene.to_page, turned_about.line)
            under = isinstance(turned_about.step, FoldStep) and turned_about.step.direction == "behind"
            found.append(Moment(words, paper, "line", (a, b), under))
        else:
            found.append(Moment(words, paper, "slide"))
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
        paper = moment.paper
        places = [page_place(p) for p in paper.places]
        moved = [[v, *p] for v, p in enumerate(places) if not before or p != before[v]]
        entry: dict[str, Any] = {
            "words": moment.words,
            "move": moment.move,
            "turned": [int(t) for t in paper.turned],
            "stack": [f for plate in paper.plates for f in plate.faces],
            "moved": moved if before else [],
        }
        if moment.line is not None:
            entry["line"] = [page_place(p) for p in moment.line]
            entry["under"] = moment.under
        if moment.edges:
            entry["edges"] = list(moment.edges)
        if paper.repaints:
            entry["over"] = {str(g): list(faces) for g, faces in paper.repaints.items()}
        data.append(entry)
        before = places
    return data


def page_place(p: XY) -> list[float]:
    """A place to a hundredth of a page millimetre."""
    return [round(p.x, 2), round(p.y, 2)]
