"""Folded paper: in layers, transparent where the layers are not known, torn where the panels do not meet."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import TYPE_CHECKING

from verify.folding.steps import Folded
from verify.pattern.subdivision import Subdivision
from verify.show.labels import Labels
from verify.show.marks import draw_fault_faces
from verify.show.page import XY, At, across, as_it_is
from verify.show.scene import Plate, Scene, repaints_of, runs
from verify.show.style import ROLE_TEXTURE
from verify.show.surface import Key, Surface, band, key, name
from verify.show.svg import Canvas

if TYPE_CHECKING:
    from verify.construct.steps.collapse import Stage  # slow to load


@dataclass(frozen=True)
class FoldedPaper:
    """The folded paper at one moment: where its vertices lie on the page, and its plates from bottom to top.

    `repaints`: for a face those that lie over it and yet come before it in the stack. `after`: the last step that is
    done, in the middle of a recipe.
    """

    s: Subdivision
    places: Sequence[XY]
    turned: Sequence[bool]
    plates: Sequence[Plate]
    repaints: Mapping[int, Sequence[int]]
    after: int | None = None

    @classmethod
    def folded(cls, scene: Scene) -> FoldedPaper:
        """The paper of a scene, folded, as large as it is drawn there."""
        return cls(scene.subdivision, scene.folded or (), scene.turned, scene.plates, scene.repaints)

    @classmethod
    def at_step(cls, scene: Scene, folded: Folded, step: int) -> FoldedPaper:
        """The paper of a recipe after so many steps, at the scale of the flat sheet."""

        def look() -> FoldedPaper:
            state = folded.paper.states[step]
            places = [scene.to_page(p) for p in state.images]
            return replace(cls.stacked(scene.subdivision, places, state.turned, state.stack), after=step)

        return scene.after(step, look)

    @classmethod
    def at_stage(cls, scene: Scene, stage: Stage) -> FoldedPaper:
        """The paper of a pattern after a stage of its collapse, at the scale of the flat sheet."""
        places, order = [scene.to_page(p) for p in stage.folded.images], stage.order
        return cls.stacked(scene.subdivision, places, stage.folded.turned, order.stack, order.exceptions)

    @classmethod
    def flat(cls, scene: Scene) -> FoldedPaper:
        faces = range(len(scene.subdivision.faces))
        return cls.stacked(scene.subdivision, scene.flat, [False] * len(faces), faces)

    @classmethod
    def stacked(
        cls,
        s: Subdivision,
        places: Sequence[XY],
        turned: Sequence[bool],
        stack: Sequence[int],
        exceptions: Sequence[tuple[int, int]] = (),
    ) -> FoldedPaper:
        """Single faces, bottom to top; `exceptions`: pairs (f, g) with f below g in the stack and yet over it."""
        plates = [Plate((f,), turned[f], level) for level, f in enumerate(stack)]
        return cls(s, places, turned, plates, repaints_of(stack, exceptions))

    def is_creased(self, edge: int) -> bool:
        """Whether a crease runs there that is not folded now."""
        crease = self.s.edges[edge].crease
        return crease is not None and (self.after is None or crease <= self.after)

    @cached_property
    def lines(self) -> dict[int, dict[str, list[list[int]]]]:
        """The lines of each plate, by its first face, of each class: walks over vertices, joined where they go straight
        on.
        """
        edges, found = self.s.edges, dict[int, dict[str, list[list[int]]]]()
        for plate in self.plates:
            mine = sorted({n for f in plate.faces for n in self.s.face_edges[f]})
            border = [n for n in mine if edges[n].kind == "border"]
            inner = [n for n in mine if edges[n].kind != "border"]
            rims = [n for n in inner if self.turned[edges[n].left] != self.turned[edges[n].right]]
            guides = [n for n in inner if n not in rims and self.is_creased(n)]
            cut = [n for n in mine if edges[n].is_cut]
            chosen = {"target": cut, "guide": guides, "rim": rims, "outline": border}
            found[plate.faces[0]] = {kind: runs(self.s, self.places, some) for kind, some in chosen.items()}
        return found

    def loops(self, faces: Sequence[int]) -> list[list[int]]:
        """The outline of a plate or of a part of it."""
        return [list(self.s.faces[faces[0]])] if len(faces) == 1 else self.s.outlines(faces)


def draw_paper(
    surface: Surface,
    paper: FoldedPaper,
    at: At = as_it_is,
    roles: Mapping[int, str] | None = None,
    *,
    small: bool = False,
) -> None:
    """The folded layers from the bottom up; with `roles` textured by what faces belong to after the cut."""
    here = [at(p) for p in paper.places]
    top = max((p.level for p in paper.plates), default=0)
    for number, plate in enumerate(paper.plates):
        tags: dict[str, object] = {"class_": "plate", "data_level": plate.level, "data_plate": number}
        with surface.group(None, "", **tags):
            draw_plate(surface, paper, plate, here, top, roles, small)
        for over in paper.repaints.get(plate.faces[0], ()) if len(plate.faces) == 1 else ():
            upper = next(p for p in paper.plates if p.faces == (over,))
            shape = [[here[v] for v in paper.s.faces[plate.faces[0]]]]
            with surface.group(shape, str(plate.faces[0]), **tags):
                draw_plate(surface, paper, upper, here, top, roles, small)


def draw_plate(
    surface: Surface,
    paper: FoldedPaper,
    plate: Plate,
    here: Sequence[XY],
    top: int,
    roles: Mapping[int, str] | None = None,
    small: bool = False,
) -> None:
    """One plate: its shadow on what lies below, its side of the paper, its depth, its lines, its rims."""
    lines = paper.lines[plate.faces[0]]
    loops = [[here[v] for v in loop] for loop in paper.loops(plate.faces)]
    surface.lines(loops, "shadow", closed=True, opacity=min(0.13, 1.6 / (top + 1)))
    surface.fill(loops, "back" if plate.turned else "front", "hatch" if plate.turned else None)
    depth = 0.34 * (1 - plate.level / top) if top else 0.0
    if depth:
        surface.fill(loops, "shade", opacity=depth)
    for role, texture in ROLE_TEXTURE.items():
        mine = [f for f in plate.faces if roles and roles.get(f) == role]
        if mine:
            surface.fill([[here[v] for v in loop] for loop in paper.loops(mine)], None, texture)
    drawn = {kind: [[here[v] for v in walk] for walk in walks] for kind, walks in lines.items()}
    if roles is None:
        band(surface, drawn["target"], small)
    for kind in ("guide", "rim", "outline"):
        if drawn[kind]:
            surface.lines(drawn[kind], kind, width=0.4 if small and kind == "outline" else None)


def paper_legend(canvas: Canvas, scene: Scene) -> None:
    """Front, back, depth and target."""
    sides = {p.turned for p in scene.plates}
    if False in sides:
        canvas.key(Key("front", "front of the paper"))
    if True in sides:
        canvas.key(Key("back", "back of the paper", "hatch"))
    if any(p.level for p in scene.plates):
        canvas.key(Key("front", "darker: deeper in the stack", shades=True))
    if any(e.is_cut for e in scene.subdivision.edges):
        canvas.key(key("target"))


def draw_transparent(canvas: Canvas, scene: Scene) -> None:
    """Every panel where the folds put it, with nothing over anything."""
    folded, s = scene.folded or (), scene.subdivision
    for f, loop in enumerate(s.faces):
        _clear(canvas, [folded[v] for v in loop], scene.turned[f])
    canvas.lines([[folded[v] for v in e.ends] for e in s.edges if not e.is_auxiliary and e.kind != "border"], "rim")
    canvas.lines([[folded[v] for v in e.ends] for e in s.edges if e.kind == "border"], "outline")
    draw_fault_faces(canvas, scene, folded)
    canvas.key(Key("clear", "panel, drawn transparent"))
    if any(scene.turned):
        canvas.key(Key("clear", "panel that shows its back", "hatch"))


def _clear(canvas: Canvas, loop: Sequence[XY], turned: bool) -> None:
    canvas.fill([loop], "clear")
    if turned:
        canvas.fill([loop], None, "hatch", opacity=0.4)


def draw_fold_line(canvas: Canvas, scene: Scene, a: XY, b: XY) -> None:
    """The fold that a step asks for and that cannot be done, across the folded sheet."""
    ends = across(scene.folded or (), a, b, 8.0)
    canvas.lines([ends], "valley")
    canvas.reach(ends, 1)
    canvas.key(Key("valley", "the fold that was asked for"))


def draw_torn(canvas: Canvas, scene: Scene) -> None:
    """The panels laid down one after another, and the lines at which they then do not meet."""
    s, torn = scene.subdivision, scene.torn
    for f, places in enumerate(torn.at):
        loop = [places[v] for v in s.faces[f]]
        _clear(canvas, loop, scene.turned[f])
        canvas.lines([[*loop, loop[0]]], "rim")
        canvas.reach(loop, 1)
    labels = Labels()
    walks = [[torn.at[f][v] for v in s.edges[n].ends] for n in torn.edges for f in (s.edges[n].left, s.edges[n].right)]
    if walks:
        canvas.lines(walks, "rail")
        canvas.lines(walks, "bed")
        canvas.lines(walks, "outline")
        canvas.key(Key("rail", "the two sides of a line, which do not meet"))
        labels.avoid_lines(walks)
        for letter, n in zip("ABCDEFGH", torn.edges, strict=False):
            e = s.edges[n]
            for f, dash in ((e.left, ""), (e.right, "′")):
                middle = torn.at[f][e.start].between(torn.at[f][e.end])
                name(canvas, labels, middle, letter + dash, need=True)
    seen = "Each pair A and A′ is one line of the sheet seen from its two panels."
    unseen = "The gap is too small to be seen at this scale."
    canvas.note(
        "There is no folded state: panels laid down one after another, folded as drawn, do not come together again. "
        f"{seen if walks else unseen}"
    )
