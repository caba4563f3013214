"""A pattern that is collapsed: the order of creasing, and what comes in together, with pictures."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import partial
from itertools import pairwise
from typing import get_args

from reportlab.platypus import Flowable

from verify.construct.steps.collapse import PrecreaseKind, Stage, Stages
from verify.cutting.hands import StraightCrease
from verify.show.handout.moments import draw_after, movement
from verify.show.handout.pages import PageDrawing, new_page, paragraphs, say
from verify.show.handout.steps import Pictured, cut_step, spread
from verify.show.handout.subject import Subject
from verify.show.handout.template import write_numbers
from verify.show.labels import Labels
from verify.show.page import XY, beside, box_of, fitted
from verify.show.paper import FoldedPaper, draw_paper
from verify.show.print import Pen, arrow
from verify.show.scene import Scene, runs
from verify.show.sheet import draw_lines
from verify.show.style import FOLDS
from verify.show.surface import folds
from verify.show.texts import sentences
from verify.words.crease_words import bring

_SHEET = 130.0
_NEAR = 1e-6
_BOLD = ("the bold stretch of", "the bold stretches of")
_OTHER = {"valley": "mountain", "mountain": "valley"}


def collapse(subject: Subject, scene: Scene, found: Stages) -> Iterator[Flowable]:
    """The creases by number, the groups as pairs of pictures, then the cut."""
    creases = creases_in_order(found)
    yield from new_page(subject.part("creasing and collapsing"))
    head = [
        *paragraphs("collapse", "precrease"),
        *map(say, _creasing(found)),
        PageDrawing(subject.wide, _SHEET, partial(_draw_numbers, scene, creases, subject.wide)),
        *paragraphs("collapse", "groups" if len(found.stages) > 1 else "one-group"),
    ]
    looks = [FoldedPaper.flat(scene), *(FoldedPaper.at_stage(scene, stage) for stage in found.stages)]
    groups = [
        Pictured(f"{number}. {bring(stage, creases, _BOLD)}", partial(_draw_pair, scene, before, after, stage))
        for number, (stage, (before, after)) in enumerate(zip(found.stages, pairwise(looks), strict=True), start=1)
    ]
    yield from spread(subject, [*groups, *cut_step(scene, len(groups) + 1)], head)


def numbers(found: Stages) -> dict[str, int]:
    """The number of each straight crease by the names of its ends, and of its parts, as findings call them."""
    s = found.stages[-1].folded.subdivision
    each = list(enumerate(found.precreases, start=1))
    named = {s.edge_name(edge): number for number, pre in each for edge in pre.crease.edges}
    return named | {"–".join(pre.ends): number for number, pre in each}


def creases_in_order(found: Stages) -> list[StraightCrease]:
    """The straight creases in the order in which they are made."""
    return [pre.crease for pre in found.precreases]


def _creasing(found: Stages) -> Iterator[str]:
    """Which numbers are made from which side."""
    kinds = [pre.kind for pre in found.precreases]
    start = 1
    for kind in get_args(PrecreaseKind):
        count = kinds.count(kind)
        if count:
            which = "{}" if count == 1 else "{} and {}" if count == 2 else "{} to {}"
            yield from sentences("collapse", kind, numbers=which.format(start, start + count - 1))
            start += count


def _draw_numbers(scene: Scene, creases: Sequence[StraightCrease], wide: float, pen: Pen) -> None:
    """The flat sheet, each crease with its number."""
    at = fitted(box_of(scene.flat), (5.0, 4.0, wide - 10, _SHEET - 8))
    labels = Labels()
    draw_lines(pen, scene, at, labels, small=True, letters=False)
    write_numbers(pen, labels, scene, creases, at, (0.0, 0.0, wide, _SHEET))


def _draw_pair(
    scene: Scene, before: FoldedPaper, after: FoldedPaper, stage: Stage, size: tuple[float, float], pen: Pen
) -> None:
    at, *_ = draw_after(before, after, size, pen, names=False)
    draw_paper(pen, before, at, small=True)
    here = [at(p) for p in before.places]
    seen: dict[str, list[int]] = {}
    for n in stage.edges:
        kind = scene.fold_kinds[n] or "either"
        back = before.turned[scene.subdivision.edges[n].left]
        seen.setdefault(_OTHER.get(kind, kind) if back else kind, []).append(n)
    line = _one_line([here[v] for n in stage.edges for v in scene.subdivision.edges[n].ends])
    single = line if len(seen) == 1 else None  # the dashes of several layers on each other would close the gaps
    for kind in FOLDS:
        ends = [(here[walk[0]], here[walk[-1]]) for walk in runs(scene.subdivision, here, seen.get(kind, []))]
        walks = [single] if single is not None and ends else ends
        pen.lines(walks, "bed", width=0.9)
        folds(pen, walks, kind, width=0.5)
    if line is not None and len(seen) == 1:
        ways = zip(here, before.places, after.places, strict=True)
        moved = [place for place, p, q in ways if p.distance(q) > _NEAR]
        x0, y0, x1, y1 = box_of(here)
        start, end = movement(moved, *line, (x0 - 9, y0 - 3, x1 + 9, y1 + 3))
        arrow(pen, start, end, "mountain" in seen)


def _one_line(places: Sequence[XY]) -> tuple[XY, XY] | None:
    """The ends of the line on which all these places lie, if they do: then hands make a single fold."""
    a = places[0]
    b = max(places, key=a.distance)
    a = max(places, key=b.distance)
    return (a, b) if max(abs(beside(a, b, p)) for p in places) < _NEAR else None
