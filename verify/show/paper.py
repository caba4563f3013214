"""Folded paper: in layers, transparent where the layers are not known, torn where the panels do not meet."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from math import hypot

from verify.show.labels import Labels
from verify.show.marks import draw_fault_faces, walks_of, write_name
from verify.show.scene import XY, Plate, Scene
from verify.show.style import ROLE_TEXTURE
from verify.show.svg import Canvas, band, path_data, tag

Projection = Callable[[XY], XY]


def draw_paper(canvas: Canvas, scene: Scene, roles: bool = False) -> None:
    """The folded layers from the bottom up; `roles`: textured by what each part belongs to after the cut."""
    folded = scene.folded or ()
    top = max((p.level for p in scene.plates), default=0)
    for number, plate in enumerate(scene.plates):
        drawn = plate_elements(canvas, scene, plate, lambda p: p, top, roles)
        canvas.add(
            tag("g", *drawn, class_="plate", data_level=plate.level, data_plate=number)
            if canvas.bare
            else "".join(drawn)
        )
        for over in scene.repaints.get(plate.faces[0], ()) if len(plate.faces) == 1 else ():
            upper = next(p for p in scene.plates if p.faces == (over,))
            clip = canvas.clip(f"{plate.faces[0]}", [[folded[v] for v in scene.subdivision.faces[plate.faces[0]]]])
            again = plate_elements(canvas, scene, upper, lambda p: p, top, roles)
            canvas.add(tag("g", *again, clip_path=clip, class_="plate", data_level=plate.level, data_plate=number))


def plate_elements(
    canvas: Canvas, scene: Scene, plate: Plate, project: Projection, top: int, roles: bool = False
) -> list[str]:
    """One plate: its shadow on what lies below, its side of the paper, its depth, its rims."""
    s, folded = scene.subdivision, scene.folded or ()
    here = [project(p) for p in folded]
    loops = [[here[v] for v in loop] for loop in scene.loops(plate.faces)]
    shape = path_data(loops, True)

    def area(kind: str, **attributes: object) -> str:
        return tag("path", d=shape, class_=kind, fill_rule="evenodd", **attributes)

    drawn = [
        area("shadow", style=f"stroke-opacity:{min(0.13, 1.6 / (top + 1)):.3f}"),
        area("back" if plate.turned else "front"),
    ]
    if plate.turned:
        drawn.append(area("over", style=f"fill:{canvas.filled('hatch')}"))
    depth = 0.34 * (1 - plate.level / top) if top else 0.0
    if depth:
        drawn.append(area("shade", fill_opacity=round(depth, 3)))
    if roles:
        for role, texture in ROLE_TEXTURE.items():
            mine = [f for f in plate.faces if scene.role_of.get(f) == role]
            if mine:
                walks = [[here[v] for v in loop] for loop in scene.loops(mine)]
                drawn.append(
                    tag(
                        "path",
                        d=path_data(walks, True),
                        class_="over",
                        fill_rule="evenodd",
                        style=f"fill:{canvas.filled(texture)}",
                    )
                )
    inside = set(plate.faces)
    edges = {n for f in plate.faces for n in s.face_edges[f]}
    target = [n for n in edges if s.edges[n].target]
    if target and not roles:
        drawn += band(path_data(walks_of(scene, here, sorted(target))))
    rims = [n for n in sorted(edges) if not (s.edges[n].left in inside and s.edges[n].right in inside)]
    for kind, chosen in (
        ("rim", [n for n in rims if s.edges[n].kind != "border"]),
        ("outline", [n for n in rims if s.edges[n].kind == "border"]),
    ):
        if chosen:
            drawn.append(tag("path", d=path_data(walks_of(scene, here, chosen)), class_=kind))
    return drawn


def paper_legend(canvas: Canvas, scene: Scene) -> None:
    """Front, back, depth and target."""
    sides = {p.turned for p in scene.plates}
    if False in sides:
        canvas.key_fill("front", None, "front of the paper")
    if True in sides:
        canvas.key_fill("back", "hatch", "back of the paper")
    if any(p.level for p in scene.plates):
        canvas.key(
            "".join(
                tag("rect", x=0.5 + k * 3, y=-1.8, width=3, height=3.6, class_="front")
                + tag("rect", x=0.5 + k * 3, y=-1.8, width=3, height=3.6, class_="shade", fill_opacity=shade)
                for k, shade in enumerate((0.34, 0.17, 0.0))
            )
            + tag("rect", x=0.5, y=-1.8, width=9, height=3.6, class_="rim"),
            "darker: deeper in the stack",
        )
    if any(e.target for e in scene.subdivision.edges):
        canvas.key_band("target")


def draw_transparent(canvas: Canvas, scene: Scene) -> None:
    """Every panel where the folds put it, with nothing over anything."""
    folded, s = scene.folded or (), scene.subdivision
    for f, loop in enumerate(s.faces):
        canvas.path([[folded[v] for v in loop]], "clear", True)
        if scene.turned[f]:
            canvas.path(
                [[folded[v] for v in loop]], "over", True, style=f"fill:{canvas.filled('hatch')}", fill_opacity=0.4
            )
    canvas.path([[folded[v] for v in e.ends] for e in s.edges if not e.is_auxiliary and e.kind != "border"], "rim")
    canvas.path([[folded[v] for v in e.ends] for e in s.edges if e.kind == "border"], "outline")
    draw_fault_faces(canvas, scene, folded)
    canvas.key_fill("clear", None, "panel, drawn transparent")
    if any(scene.turned):
        canvas.key_fill("clear", "hatch", "panel that shows its back")


def draw_fold_line(canvas: Canvas, scene: Scene, a: XY, b: XY) -> None:
    """The fold that a step asks for and that cannot be done, across the folded sheet."""
    ends = across(scene.folded or (), a, b, 8.0)
    canvas.path([ends], "valley")
    canvas.reach(ends, 1)
    canvas.key_line("valley", "the fold that was asked for")


def draw_torn(canvas: Canvas, scene: Scene) -> None:
    """The panels laid down one after another, and the lines at which they then do not meet."""
    s, torn = scene.subdivision, scene.torn
    for f, places in enumerate(torn.at):
        loop = [places[v] for v in s.faces[f]]
        canvas.path([loop], "clear", True)
        if scene.turned[f]:
            canvas.path([loop], "over", True, style=f"fill:{canvas.filled('hatch')}", fill_opacity=0.5)
        canvas.path([[*loop, loop[0]]], "rim")
        canvas.reach(loop, 1)
    labels = Labels()
    walks = [[torn.at[f][v] for v in s.edges[n].ends] for n in torn.edges for f in (s.edges[n].left, s.edges[n].right)]
    gap = 0.0
    if walks:
        canvas.path(walks, "rail")
        canvas.path(walks, "bed")
        canvas.path(walks, "outline")
        canvas.key(
            tag("path", d="M0 0 L10 0", class_="rail") + tag("path", d="M0 0 L10 0", class_="bed"),
            "the two sides of a line, which do not meet",
        )
        labels.avoid_lines(walks)
        for letter, n in zip("ABCDEFGH", torn.edges, strict=False):
            e = s.edges[n]
            for f, dash in ((e.left, ""), (e.right, "′")):
                a, b = (torn.at[f][v] for v in e.ends)
                write_name(canvas, labels, XY((a.x + b.x) / 2, (a.y + b.y) / 2), letter + dash, need=True)
            gap = max(
                gap,
                *(
                    hypot(torn.at[e.left][v].x - torn.at[e.right][v].x, torn.at[e.left][v].y - torn.at[e.right][v].y)
                    for v in e.ends
                ),
            )
    canvas.note(
        "There is no folded state: panels laid down one after another, folded as drawn, do not come together again. "
        + (
            "Each pair A and A′ is one line of the sheet seen from its two panels."
            if walks
            else "The gap is too small to be seen at this scale."
        )
    )


def across(places: Sequence[XY], a: XY, b: XY, margin: float) -> list[XY]:
    """The line through a and b from one end of the drawing to the other, and a little beyond."""
    long = hypot(b.x - a.x, b.y - a.y)
    ux, uy = (b.x - a.x) / long, (b.y - a.y) / long
    along = [(p.x - a.x) * ux + (p.y - a.y) * uy for p in places]
    low, high = min(along) - margin, max(along) + margin
    return [XY(a.x + ux * low, a.y + uy * low), XY(a.x + ux * high, a.y + uy * high)]
