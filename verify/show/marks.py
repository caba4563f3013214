"""What is written on a picture: findings at their places, names of points, shapes to point at."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence

from verify.exact.plane import orientation, with_neighbours
from verify.pattern.source import printable
from verify.show.labels import Labels
from verify.show.page import XY, mean_of
from verify.show.scene import Mark, Scene
from verify.show.surface import Key, Surface, band, name
from verify.show.svg import Canvas, num, path_data, tag

_RING = 2.1  # how far it reaches
_MANY_FACES = 130
_MANY_SPOTS = 26


def _faults(scene: Scene) -> list[Mark]:
    return [m for m in scene.marks if m.fails]


def draw_fault_faces(surface: Surface, scene: Scene, places: Sequence[XY]) -> None:
    """A cross-hatch on each panel that a failing finding names, also on those that lie on each other."""
    faces = sorted({f for m in _faults(scene) for f in m.faces})
    for f in faces:
        surface.fill([[places[v] for v in scene.subdivision.faces[f]]], None, "cross")
    if faces:
        surface.key(Key("front", "panel that a finding names", "cross"))


def draw_rails(surface: Surface, scene: Scene, places: Sequence[XY], line: bool = False) -> None:
    """Two rails along each line that a failing finding names; `line`: draw the line itself between them, too."""
    walks = {n: scene.walk(n, places) for n in sorted({n for m in _faults(scene) for n in m.edges})}
    if not walks:
        return
    surface.lines(walks.values(), "rail")
    surface.lines(walks.values(), "bed")
    for n, walk in walks.items() if line else ():
        kind = scene.fold_kinds[n]
        if kind is None and scene.subdivision.edges[n].target:
            band(surface, [walk])
        else:
            surface.lines([walk], kind or "outline")
    surface.key(Key("rail", "line that a finding names"))


def draw_rings(surface: Surface, scene: Scene, places: Sequence[XY], labels: Labels) -> None:
    """A ring round each point that a failing finding names; no label hides it."""
    vertices = {v for m in _faults(scene) for v in m.vertices}
    for x, y in sorted({(round(places[v].x, 3), round(places[v].y, 3)) for v in vertices}):
        surface.disc(XY(x, y), _RING, "ring")
        labels.avoid_spot(XY(x, y), _RING)
    if vertices:
        surface.key(Key("ring", "point that a finding names"))


def _badge(mark: Mark, x: float) -> str:
    """The number of a mark: white on a filled square where it fails, dark in a circle where it is advice."""
    sign = Canvas()
    if mark.fails:
        sign.add(tag("rect", x=x - 2.1, y=-2.1, width=4.2, height=4.2, rx=0.5, class_="tag"))
    else:
        sign.disc(XY(x, 0), 2.1, "note")
    sign.write(XY(x, -1.0), str(mark.number), 2.7, "tag-text" if mark.fails else "note-text", "middle")
    return "".join(sign.body)


def draw_tags(canvas: Canvas, scene: Scene, labels: Labels, places: Sequence[XY]) -> None:
    """The number of each mark beside what it speaks of."""
    for mark in scene.marks:
        anchor = _anchor(scene, mark, places)
        if anchor is None:
            continue
        size = 4.4 * canvas.zoom
        corner = labels.place(anchor, size, size, 2.6, need=True)
        if corner is None:
            continue
        x, y = corner.x + size / 2, corner.y + size / 2
        canvas.reach([XY(x, y)], size / 2 + 0.2)
        canvas.add(tag("path", d=path_data([[anchor, XY(x, y)]]), class_="lead" if mark.fails else "tie"))
        canvas.add(
            tag(
                "g",
                _badge(mark, 0.0),
                class_="mark",
                data_mark=mark.number,
                transform=f"translate({num(x)} {num(-y)}) scale({canvas.zoom})",
            )
        )


def _anchor(scene: Scene, mark: Mark, places: Sequence[XY]) -> XY | None:
    if mark.vertices:
        return places[mark.vertices[0]]
    if mark.edges:
        return XY.between(*scene.walk(mark.edges[len(mark.edges) // 2], places))
    if mark.faces:
        return mean_of([places[v] for v in scene.subdivision.faces[mark.faces[0]]])
    return None


def write_findings(canvas: Canvas, scene: Scene, checks: tuple[str, ...] | None = None) -> None:
    """The findings with their numbers, below the picture; `checks`: only these checks' findings."""
    for mark in scene.marks:
        if checks is not None and not any(f.check in checks for f in mark.findings):
            continue
        words = "; ".join(dict.fromkeys(printable(f.message) for f in mark.findings))
        canvas.note(words if len(words) < 700 else words[:700] + " …", _badge(mark, 2.6))
    if scene.more_marks:
        canvas.note(f"… and {scene.more_marks} more findings that fail (creaseproof explain lists all).")


def write_point_names(canvas: Canvas, scene: Scene, labels: Labels) -> None:
    """The names of the flat sheet's points; of large patterns only its corners'."""
    s = scene.subdivision
    few = len(s.faces) <= _MANY_FACES
    turns = with_neighbours(s.sheet_chains[0])
    corners = {b for a, b, c in turns if orientation(s.vertices[a], s.vertices[b], s.vertices[c]) != 0}
    named = [v for v, p in enumerate(s.vertices) if p in s.drawing.names and (few or v in corners)]
    ringed = {v for m in _faults(scene) for v in m.vertices}
    for v in sorted(named, key=lambda v: v not in corners):
        words = printable(s.drawing.names[s.vertices[v]])
        name(canvas, labels, scene.flat[v], words, need=v in ringed, away=_RING if v in ringed else 1.3)


def write_spot_names(canvas: Canvas, scene: Scene, labels: Labels) -> None:
    """The names of points that lie on each other, once."""
    s, folded = scene.subdivision, scene.folded or ()
    spots: dict[tuple[float, float], list[str]] = defaultdict(list)
    for v, p in enumerate(s.vertices):
        if p in s.drawing.names:
            spots[round(folded[v].x, 3), round(folded[v].y, 3)].append(printable(s.drawing.names[p]))
    if len(spots) > _MANY_SPOTS:
        return
    for (x, y), names in spots.items():
        count = 3 if sum(map(len, names[:3])) <= 18 else 1
        shown = " ".join(names[:count]) + (f" +{len(names) - count}" if len(names) > count else "")
        name(canvas, labels, XY(x, y), shown, away=2.2 if _faults(scene) else 1.3)


def add_hits(canvas: Canvas, scene: Scene, places: Sequence[XY]) -> None:
    """In a page: unseen shapes that can be pointed at, one for each panel and line."""
    if not canvas.bare:
        return
    s = scene.subdivision
    order = [f for plate in scene.plates for f in plate.faces]
    faces = [
        tag("path", d=path_data([[places[v] for v in s.faces[f]]], True), class_="hit-face", data_face=f) for f in order
    ]
    edges = [
        tag("path", d=path_data([scene.walk(n, places)]), class_="hit-edge", data_edge=n)
        for n, e in enumerate(s.edges)
        if not e.is_auxiliary
    ]
    canvas.add(tag("g", *faces, *edges, class_="hits"))
