"""A step of a recipe for hands: this edge onto that edge, corner onto corner, along a crease that was made before."""

from __future__ import annotations

from verify.cutting.hands import bent_by
from verify.exact.plane import Point, around, on_segment, orientation
from verify.folding.steps import Folded
from verify.pattern.recipe import Alignment, FoldStep, Step


def step_words(folded: Folded, number: int) -> str:
    """Step `number` (from 1) in words; marks are called what they are on the sheet: ends of edges, sides of the target,
    creases.
    """
    return _Speaker(folded, number).step(folded.recipe.steps[number - 1])


def alignment_words(folded: Folded, number: int, alignment: Alignment) -> str:
    """The alignment of step `number` (from 1) in words."""
    return _Speaker(folded, number).alignment(alignment)


def counted_layers(folded: Folded, number: int, step: FoldStep) -> str:
    """The layers that step `number` (from 1) counts, and how many are really bent."""
    return step.counted_layers(_Speaker(folded, number).bent())


class _Speaker:
    """Speaks of marks as they are before a step."""

    def __init__(self, folded: Folded, number: int) -> None:
        self.folded, self.number = folded, number
        base, places = folded.recipe.base, folded.drawing.places
        self.edges = [(places[a], places[b]) for loop in (base.outline, *base.holes) for a, b in around(loop)]
        self.sides = [(places[a], places[b]) for a, b in base.target_lines()]

    def step(self, step: Step) -> str:
        if not isinstance(step, FoldStep):
            return step.words()
        return step.words(self.bent()).replace(step.alignment.words(), self.alignment(step.alignment))

    def bent(self) -> int | None:
        """How many layers the step bends; None if it cannot be done."""
        return bent_by(self.folded.paper, self.number)[0] if self.number <= len(self.folded.done) else None

    def alignment(self, alignment: Alignment) -> str:
        m = alignment.marks
        match alignment.kind:
            case "through":
                crease = self._crease(m[0], m[1])
                if crease:
                    return f"along the crease of step {crease} ({m[0]}–{m[1]})"
                return f"through {self.point(m[0])} and {self.point(m[1])}"
            case "point-onto-point":
                return f"so that {self.point(m[0])} lies on {self.point(m[1])}"
            case "line-onto-line":
                return f"so that {self.line(m[0], m[1])} lies along {self.line(m[2], m[3])}"
            case "square":
                return f"square to {self.line(m[0], m[1])}, through {self.point(m[2])}"
            case "point-onto-line":
                landing = f"{alignment.landing} of two places"
                return (
                    f"so that {self.point(m[0])} lands on {self.line(m[1], m[2])} ({landing}), through "
                    f"{self.point(m[3])}"
                )
            case "point-onto-line-square":
                return f"so that {self.point(m[0])} lands on {self.line(m[1], m[2])}, square to {self.line(m[3], m[4])}"
            case _:
                return alignment.words()

    def point(self, name: str) -> str:
        place = self.folded.marks[name]
        if any(place in ends for ends in (*self.edges, *self.sides)):
            return f"corner {name}"
        step = next((step for u, v, step in self._creases() if on_segment(place, u, v)), 0)
        return f"{name} (crease of step {step})" if step else name

    def line(self, one: str, two: str) -> str:
        a, b = self.folded.marks[one], self.folded.marks[two]
        if any(on_segment(a, *ends) and on_segment(b, *ends) for ends in self.edges):
            return f"edge {one}–{two}"
        if any(on_segment(a, *ends) and on_segment(b, *ends) for ends in self.sides):
            return f"side {one}–{two}"
        crease = self._crease(one, two)
        return f"the crease of step {crease} ({one}–{two})" if crease else f"line {one}–{two}"

    def _crease(self, one: str, two: str) -> int:
        """The step whose crease the line between two marks is; 0 if it is none."""
        a, b = self.folded.marks[one], self.folded.marks[two]
        for u, v, step in self._creases():
            if orientation(u, v, a) == 0 == orientation(u, v, b) and (on_segment(a, u, v) or on_segment(b, u, v)):
                return step
        return 0

    def _creases(self) -> list[tuple[Point, Point, int]]:
        paper = self.folded.paper
        at = paper.vertices
        return [(at[u], at[v], step) for (u, v), step in paper.creased.items() if step < self.number]
