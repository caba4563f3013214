"""Certificates of recipes (SPECIFICATION §10.3): what each step did, for the kernel to follow."""

from __future__ import annotations

from itertools import pairwise
from typing import Any

from verify.certificate.evidence import Evidence, Json
from verify.cutting.cut import Cell
from verify.exact.plane import Point
from verify.folding.alignments import FoldLine
from verify.folding.foldmap import FoldMap
from verify.folding.paper import State
from verify.folding.steps import Done, Folded, StepRefused
from verify.pattern.recipe import FoldStep, MarkStep


class RecipeEvidence(Evidence):
    """Writes the certificates of one recipe that was carried out (or up to the step that was refused)."""

    def __init__(self, folded: Folded, fold_map: FoldMap) -> None:
        super().__init__(fold_map.subdivision)
        self.folded, self.paper = folded, folded.paper
        self.statement_sha256 = folded.recipe.statement_sha256

    def _folding(self, fold_map: FoldMap) -> Json:
        keys: Json = {"steps": self._steps()}
        recipe = self.folded.recipe
        if self.folded.along is not None and recipe.along is not None and recipe.has_target:
            marks = self._marks(recipe.along.marks, self.paper.now)
            keys["cut"] = {"line": self._line(self.folded.along), "marks": marks}
        return keys

    def _steps(self) -> list[Json]:
        states = pairwise(self.paper.states)
        return [self._step(done, *two) for done, two in zip(self.folded.done, states, strict=True)]

    def _step(self, done: Done, before: State[Point], after: State[Point]) -> Json:
        step = done.step
        if isinstance(step, FoldStep) and done.line is not None:
            changed = [v for v, (p, q) in enumerate(zip(before.images, after.images, strict=True)) if p != q]
            return {
                "line": self._line(done.line),
                "marks": self._marks((*step.alignment.marks, step.moves), before),
                "images": [[v, self.point(after.images[v])] for v in changed],
            }
        if isinstance(step, MarkStep) and done.mark is not None:
            return self._mark(step, done.mark, before)
        return {}

    def _mark(self, step: MarkStep, mark: tuple[Point, int, Point], before: State[Point]) -> Json:
        place, _, image = mark
        named = [m for line in step.crossing if not isinstance(line, int) for m in line]
        on = None
        if step.on is not None:
            named.append(step.on)
            on = self.folded.marks[step.on]
        face, marks = self.paper.face_for_mark(image, on, before), self._marks(tuple(named), before)
        return {"place": self.point(place), "face": face, "image": self.point(image), "marks": marks}

    def _marks(self, names: tuple[str, ...], state: State[Point]) -> dict[str, Any]:
        marks = {}
        for name in dict.fromkeys(names):
            place = self.folded.marks[name]
            face = self.paper.host(place)
            marks[name] = [face, self.point(self.paper.image(face, place, state))]
        return marks

    def _line(self, line: FoldLine) -> list[Any]:
        return [self.point(line[0]), self.point(line[1])]

    def step_refused(self, refused: StepRefused) -> Json:
        step = self.folded.recipe.steps[refused.step - 1]
        if not isinstance(step, FoldStep):
            raise TypeError("only folds are refused")
        last: Json = {"marks": self._marks((*step.alignment.marks, step.moves), self.paper.now)}
        if refused.line is not None:
            last = {"line": self._line(refused.line)} | last
        refutation: Json = {"kind": "step", "why": refused.kind}
        if refused.faces:
            refutation["faces"] = list(refused.faces)
        return self._base("refuted") | {"steps": [*self._steps(), last], "refutation": refutation}

    def _stray(self, cell: Cell, near: int) -> Json:
        stray = super()._stray(cell, near)
        if self.folded.along is not None:  # the line is the recipe's own
            del stray["edge"]
        return stray

    def off_the_line(self, fold_map: FoldMap, edge: int) -> Json:
        """That a target edge does not fold onto the line where the scissors go."""
        return self._refuted({"kind": "off", "edge": list(self.s.edges[edge].ends)}, fold_map)
