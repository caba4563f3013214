"""Pictures of one result as SVG text: the pattern, the folded sheet, the stack pulled apart, the cut, the pieces.

True to scale in page millimetres (the scale is written on each picture; the stack is an oblique view). Each function takes any result,
certified, refuted or undecided; what cannot be drawn is said in the picture. `bare` pictures are for a page that brings the
style sheet, the title and the notes itself; `prefix` keeps the ids of several in one page apart. A picture proves nothing.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Callable, Iterable, Sequence
from math import hypot

from verify.certificate.certify import Result
from verify.exact.plane import orientation
from verify.pattern.document import printable
from verify.pattern.subdivision import number_text
from verify.show.labels import Labels
from verify.show.scene import XY, Fold, Mark, Plate, Scale, Scene, runs, scene_of
from verify.show.svg import TEXT, Canvas, band, num, path_data, tag, text, text_width

_NAMES = 2.7
_MANY_FACES = 130
_MANY_SPOTS = 26
_MANY_TIES = 160
_MANY_PIECES = 60
_LEVELS = 48
_LEVELS_A_COLUMN = 8
_ROW_MM = 230.0
_FOLD_WORDS: dict[Fold, str] = {"mountain": "mountain fold", "valley": "valley fold", "either": "fold, either way"}
_ROLE_TEXTURE = {"target": "dots", "inner waste": "lines"}

Projection = Callable[[XY], XY]


def pattern_svg(source: Result | Scene, *, bare: bool = False, prefix: str = "") -> str:
    """The flat sheet: outline, creases in the trade's lines, target, and each failing finding at its place."""
    scene = _scene(source)
    if scene is None:
        return _unreached(source, "Pattern")
    canvas = Canvas(prefix, bare)
    s, flat = scene.subdivision, scene.flat
    everything = range(len(s.faces))
    sheet = [[flat[v] for v in loop] for loop in scene.loops(everything)]
    canvas.path(sheet, "front", True)
    canvas.reach(flat)
    _fault_faces(canvas, scene, flat)
    _rails(canvas, scene, lambda n: [tuple(flat[v] for v in s.edges[n].ends)])
    target = [n for n, e in enumerate(s.edges) if e.target]
    walks = _walks(scene, flat, target)
    if walks:
        canvas.band(walks)
        canvas.key_band("target: what is to be cut")
    labels = Labels()
    guides = [n for n, e in enumerate(s.edges) if e.kind == "flat" and e.crease is not None]
    if guides:
        canvas.path(_walks(scene, flat, guides), "guide")
        canvas.key_line("guide", "line that is not folded")
    for kind, words in _FOLD_WORDS.items():
        folds = _walks(scene, flat, [n for n, k in enumerate(scene.fold_kinds) if k == kind])
        if folds:
            canvas.path(folds, kind)
            canvas.key_line(kind, words)
            labels.avoid_lines(folds)
    canvas.path(sheet, "outline", True)
    canvas.key_line("outline", "edge of the sheet")
    labels.avoid_lines([[*loop, loop[0]] for loop in sheet])
    labels.avoid_lines(walks)
    _hits(canvas, scene, flat)
    _rings(canvas, scene, flat)
    _tags(canvas, scene, labels, lambda v: [flat[v]])
    _point_names(canvas, scene, labels)
    if scene.takes_either:
        canvas.note("Folds that the document leaves open (either) are shown as the proof takes them.")
    _finding_notes(canvas, scene)
    return _finish(canvas, scene, "pattern")


def folded_svg(source: Result | Scene, *, bare: bool = False, prefix: str = "") -> str:
    """The folded sheet from above: upper layers cover lower ones and are lighter; the back of the paper is hatched.

    Without a layer order the panels are transparent; without a fold map they are shown torn, where they fail to meet.
    """
    scene = _scene(source)
    if scene is None:
        return _unreached(source, "Folded sheet")
    canvas = Canvas(prefix, bare)
    if scene.folded is None:
        _torn(canvas, scene)
        _finding_notes(canvas, scene)
        return _finish(canvas, scene, "no folded state")
    folded = scene.folded
    canvas.reach(folded, 1)
    if scene.has_layers:
        _paper(canvas, scene)
        _paper_legend(canvas, scene)
        what = "folded sheet"
        refused = scene.refused
        if refused is not None:
            what = f"the sheet before step {refused.step}, which cannot be done"
            if refused.line is not None:
                _fold_line(canvas, scene, scene.folded_page(refused.line[0]), scene.folded_page(refused.line[1]))
            _fault_faces(canvas, scene, folded)
    else:
        _transparent(canvas, scene)
        what = "where the panels would lie"
    labels = Labels()
    s = scene.subdivision
    labels.avoid_lines([folded[v] for v in e.ends] for e in s.edges)
    _rails(canvas, scene, lambda n: [tuple(folded[v] for v in s.edges[n].ends)], line=True)
    _hits(canvas, scene, folded)
    _rings(canvas, scene, folded)
    _tags(canvas, scene, labels, lambda v: [folded[v]])
    _spot_names(canvas, scene, labels)
    if not scene.has_layers:
        canvas.note(
            "No layer order is known: nothing lies over anything here. All panels are drawn transparent where the folds put them."
        )
    if scene.repaints:
        canvas.note("Some layers lie over each other in a circle, as flaps tucked under one another do.")
    _finding_notes(canvas, scene)
    return _finish(canvas, scene, what, scene.magnified)


def stack_svg(source: Result | Scene, *, bare: bool = False, prefix: str = "") -> str:
    """The stack pulled apart, seen obliquely: one level over the other, each with its number, folds as upright ties.

    A level holds the layers that can be lifted off together; level 1 is at the bottom.
    """
    scene = _scene(source)
    if scene is None:
        return _unreached(source, "Stack")
    canvas = Canvas(prefix, bare)
    if scene.folded is None or not scene.has_layers:
        canvas.reach_box(0, 0, 100, 8)
        canvas.add(text(0.0, 5.0, "No layer order, so there is no stack to pull apart."))
        _finding_notes(canvas, scene)
        return _finish(canvas, scene, "no stack")
    _stack(canvas, scene)
    if scene.repaints:
        canvas.note("Some layers lie over each other in a circle; they are lifted off in the order of the stack.")
    _paper_legend(canvas, scene)
    return _finish(canvas, scene, "stack pulled apart, from below upwards; oblique view", None)


def cut_svg(source: Result | Scene, *, bare: bool = False, prefix: str = "") -> str:
    """The folded sheet with the cut line (or the snips), how many layers it meets, and what falls on either side."""
    scene = _scene(source)
    if scene is None:
        return _unreached(source, "Cut")
    canvas = Canvas(prefix, bare)
    cutting, line = scene.cutting, scene.cut_line
    if scene.folded is None or (cutting is None and line is None):
        words = "There is no folded sheet to cut." if scene.folded is None else "The document claims no cut."
        canvas.reach_box(0, 0, 100, 8)
        canvas.add(text(0.0, 5.0, words))
        _finding_notes(canvas, scene)
        return _finish(canvas, scene, "no cut")
    folded = scene.folded
    canvas.reach(folded, 1)
    if scene.has_layers:
        _paper(canvas, scene, roles=True)
    else:
        _transparent(canvas, scene)
    labels = Labels()
    s = scene.subdivision
    labels.avoid_lines([folded[v] for v in e.ends] for e in s.edges)
    target = [[folded[v] for v in e.ends] for e in s.edges if e.target]
    if target:
        canvas.band(target)
        canvas.key_band("target")
    _rails(canvas, scene, lambda n: [tuple(folded[v] for v in s.edges[n].ends)], line=True)
    _rings(canvas, scene, folded)
    if line is not None:
        _one_cut(canvas, scene, labels, *line)
    elif cutting is not None:
        _snips(canvas, scene, labels)
    if cutting is not None:
        _layer_counts(canvas, scene, labels)
    _tags(canvas, scene, labels, lambda v: [folded[v]])
    if any(role == "target" for role in scene.role_of.values()):
        canvas.key_fill("front", "dots", "paper of the target")
    if any(role == "inner waste" for role in scene.role_of.values()):
        canvas.key_fill("front", "lines", "waste inside a figure")
    if not scene.has_layers:
        canvas.note("No layer order is known: the panels are drawn transparent.")
    _finding_notes(canvas, scene, ("cut", "advice"))
    return _finish(canvas, scene, "cut line on the folded sheet", scene.magnified)


def pieces_svg(source: Result | Scene, *, bare: bool = False, prefix: str = "") -> str:
    """What lies on the table after the cut, unfolded, piece beside piece with its area."""
    scene = _scene(source)
    if scene is None:
        return _unreached(source, "Pieces")
    canvas = Canvas(prefix, bare)
    parts, _s = scene.parts
    if not parts:
        canvas.reach_box(0, 0, 100, 8)
        canvas.add(
            text(
                0.0,
                5.0,
                "No cut is claimed, so the sheet stays whole."
                if not scene.result.document.has_target
                else "The pieces are not known.",
            )
        )
        return _finish(canvas, scene, "pieces")
    _pieces(canvas, scene)
    cutting = scene.cutting
    if scene.really_cut is not None:
        what = "the sheet after this cut"
    elif cutting is not None and cutting.exact and scene.result.verdict == "certified":
        what = "the sheet after the cut"
    else:
        what = "the pieces that the target means"
        canvas.note(
            "It is not proved that this folding and cut make these pieces; they follow from the target lines alone."
        )
    return _finish(canvas, scene, what)


ALL = {"pattern": pattern_svg, "folded": folded_svg, "stack": stack_svg, "cut": cut_svg, "pieces": pieces_svg}


# What the pictures share.


def _scene(source: Result | Scene) -> Scene | None:
    return source if isinstance(source, Scene) else scene_of(source)


def _finish(canvas: Canvas, scene: Scene, what: str, times: int | None = 1) -> str:
    """The finished picture; `times` as large as the scale of the flat sheet, None for no scale at all."""
    result = scene.result
    scale = f"scale {scale_text(scene, times)}" if times is not None else "not to scale"
    subtitle = f"{what}; {scale}; {result.verdict}"
    panels, folds = len(scene.subdivision.faces), sum(k is not None for k in scene.fold_kinds)
    describe = f"{panels} panels, {folds} fold edges. The verdict on the document is {result.verdict}."
    title = "" if canvas.bare else printable(scene.title)
    return canvas.svg(title, printable(subtitle), describe)


def scale_text(scene: Scene, times: int = 1) -> str:
    """The scale, with the sheet's size in the document's unit."""
    xs, ys = ([p[axis] for p in scene.subdivision.vertices] for axis in (0, 1))
    wide, high = number_text(max(xs) - min(xs)), number_text(max(ys) - min(ys))
    return f"{Scale(scene.scale.ratio * times).text()}, sheet {wide} × {high} {scene.unit}"


def _unreached(source: Result | Scene, what: str) -> str:
    result = source.result if isinstance(source, Scene) else source
    canvas = Canvas()
    canvas.reach_box(0, 0, 100, 8)
    canvas.add(text(0.0, 5.0, "The drawing was not carried so far that there is a picture."))
    for finding in result.findings:
        canvas.note(printable(finding.message))
    title = printable(result.document.title or result.document.source)
    return canvas.svg(title, f"{what.lower()}; {result.verdict}", "Nothing was drawn.")


def _walks(scene: Scene, places: Sequence[XY], edges: Iterable[int]) -> list[list[XY]]:
    return [[places[v] for v in walk] for walk in runs(scene.subdivision, places, edges)]


def _faults(scene: Scene) -> list[Mark]:
    return [m for m in scene.marks if m.fails]


def _fault_faces(canvas: Canvas, scene: Scene, places: Sequence[XY]) -> None:
    faces = sorted({f for m in _faults(scene) for f in m.faces})
    for f in faces:
        canvas.path(
            [[places[v] for v in scene.subdivision.faces[f]]],
            "fault-face",
            True,
            style=f"fill:{canvas.filled('cross')}",
        )
    if faces:
        canvas.key_fill("front", "cross", "panel that a finding names")


def _rails(canvas: Canvas, scene: Scene, images: Callable[[int], Sequence[Sequence[XY]]], line: bool = False) -> None:
    """Two rails along each line that a failing finding names; `line`: draw the line itself between them, too."""
    edges = sorted({n for m in _faults(scene) for n in m.edges})
    walks = [walk for n in edges for walk in images(n)]
    if not walks:
        return
    canvas.path(walks, "rail")
    canvas.path(walks, "bed")
    if line:
        for n in edges:
            kind = scene.fold_kinds[n]
            if kind is None and scene.subdivision.edges[n].target:
                canvas.band(images(n))
            else:
                canvas.path(images(n), kind or "outline")
    canvas.key(
        tag("path", d="M0 0 L10 0", class_="rail") + tag("path", d="M0 0 L10 0", class_="bed"),
        "line that a finding names",
    )


def _rings(canvas: Canvas, scene: Scene, places: Sequence[XY]) -> None:
    vertices = {v for m in _faults(scene) for v in m.vertices}
    for x, y in sorted({(round(places[v].x, 3), round(places[v].y, 3)) for v in vertices}):
        canvas.add(tag("circle", cx=x, cy=-y, r=2.1, class_="ring"))
    if vertices:
        canvas.key(tag("circle", cx=5, cy=0, r=1.7, class_="ring"), "point that a finding names")


def _badge(mark: Mark, x: float, y: float) -> str:
    """The number of a mark: white on a filled square where it fails, dark in a circle where it is advice."""
    number = str(mark.number)
    if mark.fails:
        shape = tag("rect", x=x - 2.1, y=y - 2.1, width=4.2, height=4.2, rx=0.5, class_="tag")
        return shape + text(x, y + 1.0, number, "tag-text", 2.8, "middle")
    return tag("circle", cx=x, cy=y, r=2.1, class_="note") + text(x, y + 0.95, number, "note-text", 2.6, "middle")


def _tags(canvas: Canvas, scene: Scene, labels: Labels, places: Callable[[int], Sequence[XY]]) -> None:
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
                _badge(mark, 0.0, 0.0),
                class_="mark",
                data_mark=mark.number,
                transform=f"translate({num(x)} {num(-y)}) scale({canvas.zoom})",
            )
        )


def _anchor(scene: Scene, mark: Mark, places: Callable[[int], Sequence[XY]]) -> XY | None:
    s = scene.subdivision
    if mark.vertices:
        return next(iter(places(mark.vertices[0])), None)
    if mark.edges:
        a, b = (next(iter(places(v)), None) for v in s.edges[mark.edges[len(mark.edges) // 2]].ends)
        return XY((a.x + b.x) / 2, (a.y + b.y) / 2) if a is not None and b is not None else None
    if mark.faces:
        corners = [p for v in s.faces[mark.faces[0]] for p in places(v)]
        return (
            XY(sum(p.x for p in corners) / len(corners), sum(p.y for p in corners) / len(corners)) if corners else None
        )
    return None


def _finding_notes(canvas: Canvas, scene: Scene, checks: tuple[str, ...] | None = None) -> None:
    for mark in scene.marks:
        if checks is not None and not any(f.check in checks for f in mark.findings):
            continue
        words = "; ".join(dict.fromkeys(printable(f.message) for f in mark.findings))
        canvas.note(words if len(words) < 700 else words[:700] + " …", _badge(mark, 2.6, 0.0))
    if scene.more_marks:
        canvas.note(f"… and {scene.more_marks} more findings that fail (creaseproof explain lists all).")


def _name(canvas: Canvas, labels: Labels, at: XY, words: str, need: bool = False, away: float = 1.3) -> None:
    size = _NAMES * canvas.zoom
    wide = text_width(words, size)
    corner = labels.place(at, wide + 0.6, size * 1.05, away, need)
    if corner is not None:
        canvas.reach_box(corner.x, -corner.y - size, corner.x + wide, -corner.y + 0.5)
        canvas.add(text(corner.x + 0.3, -corner.y - 0.6, words, "halo", size))
        canvas.add(text(corner.x + 0.3, -corner.y - 0.6, words, "text", size))


def _point_names(canvas: Canvas, scene: Scene, labels: Labels) -> None:
    s = scene.subdivision
    few = len(s.faces) <= _MANY_FACES
    chain = s.sheet_chains[0]
    around = zip(chain[-1:] + chain[:-1], chain, chain[1:] + chain[:1], strict=True)
    corners = {b for a, b, c in around if orientation(s.vertices[a], s.vertices[b], s.vertices[c]) != 0}
    named = [v for v, p in enumerate(s.vertices) if p in s.drawing.names and (few or v in corners)]
    for v in sorted(named, key=lambda v: v not in corners):
        _name(canvas, labels, scene.flat[v], printable(s.drawing.names[s.vertices[v]]))


def _spot_names(canvas: Canvas, scene: Scene, labels: Labels) -> None:
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
        _name(canvas, labels, XY(x, y), shown, away=2.2 if _faults(scene) else 1.3)


def _hits(canvas: Canvas, scene: Scene, places: Sequence[XY]) -> None:
    """In a page: unseen shapes that can be pointed at, one for each panel and line."""
    if not canvas.bare:
        return
    s = scene.subdivision
    order = [f for plate in scene.plates for f in plate.faces]
    faces = [
        tag("path", d=path_data([[places[v] for v in s.faces[f]]], True), class_="hit-face", data_face=f) for f in order
    ]
    edges = [
        tag("path", d=path_data([[places[v] for v in e.ends]]), class_="hit-edge", data_edge=n)
        for n, e in enumerate(s.edges)
        if not e.is_auxiliary
    ]
    canvas.add(tag("g", *faces, *edges, class_="hits"))


# Paper in layers.


def _paper(canvas: Canvas, scene: Scene, roles: bool = False) -> None:
    folded = scene.folded or ()
    top = max((p.level for p in scene.plates), default=0)
    for number, plate in enumerate(scene.plates):
        drawn = _plate(canvas, scene, plate, lambda p: p, top, roles)
        canvas.add(
            tag("g", *drawn, class_="plate", data_level=plate.level, data_plate=number)
            if canvas.bare
            else "".join(drawn)
        )
        for over in scene.repaints.get(plate.faces[0], ()) if len(plate.faces) == 1 else ():
            upper = next(p for p in scene.plates if p.faces == (over,))
            clip = canvas.clip(f"{plate.faces[0]}", [[folded[v] for v in scene.subdivision.faces[plate.faces[0]]]])
            again = _plate(canvas, scene, upper, lambda p: p, top, roles)
            canvas.add(tag("g", *again, clip_path=clip, class_="plate", data_level=plate.level, data_plate=number))


def _plate(canvas: Canvas, scene: Scene, plate: Plate, project: Projection, top: int, roles: bool = False) -> list[str]:
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
        for role, texture in _ROLE_TEXTURE.items():
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
        drawn += band(path_data(_walks(scene, here, sorted(target))))
    rims = [n for n in sorted(edges) if not (s.edges[n].left in inside and s.edges[n].right in inside)]
    for kind, chosen in (
        ("rim", [n for n in rims if s.edges[n].kind != "border"]),
        ("outline", [n for n in rims if s.edges[n].kind == "border"]),
    ):
        if chosen:
            drawn.append(tag("path", d=path_data(_walks(scene, here, chosen)), class_=kind))
    return drawn


def _paper_legend(canvas: Canvas, scene: Scene) -> None:
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


def _transparent(canvas: Canvas, scene: Scene) -> None:
    folded, s = scene.folded or (), scene.subdivision
    for f, loop in enumerate(s.faces):
        canvas.path([[folded[v] for v in loop]], "clear", True)
        if scene.turned[f]:
            canvas.path(
                [[folded[v] for v in loop]], "over", True, style=f"fill:{canvas.filled('hatch')}", fill_opacity=0.4
            )
    canvas.path([[folded[v] for v in e.ends] for e in s.edges if not e.is_auxiliary and e.kind != "border"], "rim")
    canvas.path([[folded[v] for v in e.ends] for e in s.edges if e.kind == "border"], "outline")
    _fault_faces(canvas, scene, folded)
    canvas.key_fill("clear", None, "panel, drawn transparent")
    if any(scene.turned):
        canvas.key_fill("clear", "hatch", "panel that shows its back")


def _fold_line(canvas: Canvas, scene: Scene, a: XY, b: XY) -> None:
    ends = _through(scene.folded or (), a, b, 8.0)
    canvas.path([ends], "valley")
    canvas.reach(ends, 1)
    canvas.key_line("valley", "the fold that was asked for")


def _torn(canvas: Canvas, scene: Scene) -> None:
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
                _name(canvas, labels, XY((a.x + b.x) / 2, (a.y + b.y) / 2), letter + dash, need=True)
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


def _through(places: Sequence[XY], a: XY, b: XY, margin: float) -> list[XY]:
    """The line through a and b from one end of the drawing to the other, and a little beyond."""
    long = hypot(b.x - a.x, b.y - a.y)
    ux, uy = (b.x - a.x) / long, (b.y - a.y) / long
    along = [(p.x - a.x) * ux + (p.y - a.y) * uy for p in places]
    low, high = min(along) - margin, max(along) + margin
    return [XY(a.x + ux * low, a.y + uy * low), XY(a.x + ux * high, a.y + uy * high)]


# The stack pulled apart.


def _stack(canvas: Canvas, scene: Scene) -> None:
    folded, s = scene.folded or (), scene.subdivision
    x0, x1 = min(p.x for p in folded), max(p.x for p in folded)
    y0, y1 = min(p.y for p in folded), max(p.y for p in folded)
    size = min(1.0, 84 / (x1 - x0 + 0.45 * (y1 - y0)))
    wide, high = (x1 - x0 + 0.45 * (y1 - y0)) * size, 0.5 * (y1 - y0) * size
    gap = 0.5 * high + 5
    top = max(p.level for p in scene.plates)
    levels = list(range(top + 1))
    if len(levels) > _LEVELS:
        levels = levels[: _LEVELS // 2] + levels[-_LEVELS // 2 :]
        canvas.note(f"{top + 1} levels; the lowest {_LEVELS // 2} and the highest {_LEVELS // 2} are shown.")
    columns = -(-len(levels) // _LEVELS_A_COLUMN)
    a_column = -(-len(levels) // columns)
    row = {level: k for k, level in enumerate(levels)}
    hull = _hull(folded)

    def project_to(level: int) -> Projection:
        column, place = divmod(row[level], a_column)
        left, lift = column * (wide + 22), place * gap

        def project(p: XY) -> XY:
            return XY(left + (p.x - x0 + 0.45 * (p.y - y0)) * size, lift + 0.5 * (p.y - y0) * size)

        return project

    home = {f: plate.level for plate in scene.plates for f in plate.faces}
    ties = [e for e in s.edges if e.is_fold and home[e.left] != home[e.right]]
    for level in levels:
        project = project_to(level)
        ground = [project(p) for p in hull]
        canvas.reach(ground, 1)
        canvas.path([ground], "ghost", True)
        if len(ties) <= _MANY_TIES:
            _ties(
                canvas,
                scene,
                level,
                [
                    (*e.ends, min(home[e.left], home[e.right]))
                    for e in ties
                    if max(home[e.left], home[e.right]) == level
                ],
                row,
                a_column,
                project_to,
            )
        for plate in scene.plates:
            if plate.level == level:
                canvas.add(*_plate(canvas, scene, plate, project, top))
        words = str(level + 1) + (" bottom" if level == 0 else " top" if level == top else "")
        edge = min(ground, key=lambda p: (round(p.x, 2), p.y))
        lettering = TEXT * canvas.zoom
        canvas.reach_box(edge.x - text_width(words, lettering) - 3, -edge.y - lettering, edge.x, -edge.y + 1)
        canvas.add(text(edge.x - 2.5, -edge.y, words, "text", lettering, "end"))
    if ties and len(ties) <= _MANY_TIES:
        canvas.key(tag("path", d="M3 2 L3 -2 M7 2 L7 -2", class_="tie"), "fold from one level to another")


def _ties(
    canvas: Canvas,
    scene: Scene,
    level: int,
    ties: Iterable[tuple[int, int, int]],
    row: dict[int, int],
    a_column: int,
    project_to: Callable[[int], Projection],
) -> None:
    folded = scene.folded or ()
    for start, end, low in ties:
        if low in row and row[low] // a_column == row[level] // a_column:
            below, here = project_to(low), project_to(level)
            canvas.path([[below(folded[v]), here(folded[v])] for v in (start, end)], "tie")


def _hull(places: Sequence[XY]) -> list[XY]:
    """The convex hull, counter-clockwise (floats, for the eye)."""
    ordered = sorted(set(places))

    def half(points: Iterable[XY]) -> list[XY]:
        chain: list[XY] = []
        for p in points:
            while len(chain) > 1 and (chain[-1].x - chain[-2].x) * (p.y - chain[-2].y) <= (
                chain[-1].y - chain[-2].y
            ) * (p.x - chain[-2].x):
                chain.pop()
            chain.append(p)
        return chain[:-1]

    return half(ordered) + half(reversed(ordered))


# The cut and the pieces.


def _one_cut(canvas: Canvas, scene: Scene, labels: Labels, a: XY, b: XY) -> None:
    folded = scene.folded or ()
    ends = _through(folded, a, b, 10.0)
    canvas.path([ends], "cut")
    canvas.key_line("cut", "cut")
    labels.avoid_lines([ends])
    canvas.reach(ends, 2)
    start, far = ends
    long = hypot(far.x - start.x, far.y - start.y)
    ux, uy = (far.x - start.x) / long, (far.y - start.y) / long
    canvas.add(_scissors(start, ux, uy))
    canvas.reach([XY(start.x - 8 * ux, start.y - 8 * uy)], 4)
    if not scene.result.parts:
        return
    sides: dict[str, Counter[str]] = {"A": Counter(), "B": Counter()}
    for letter, sign in (("A", 1), ("B", -1)):
        place = XY(far.x - 3 * ux - sign * 4.5 * uy, far.y - 3 * uy + sign * 4.5 * ux)
        labels.avoid_box((place.x - 3, place.y - 3, place.x + 3, place.y + 3))
        canvas.reach([place], 3)
        canvas.add(
            tag("circle", cx=place.x, cy=-place.y, r=2.7, class_="note"),
            text(place.x, -place.y + 1.1, letter, "note-text", 3.1, "middle"),
        )
        for piece in scene.result.parts:
            height = max(
                (
                    ux * (folded[v].y - a.y) - uy * (folded[v].x - a.x)
                    for f in piece.faces
                    for v in scene.subdivision.faces[f]
                ),
                key=lambda h: sign * h,
            )
            if sign * height > 1e-6:
                sides[letter][piece.role] += 1
    falls = {
        k: ", ".join(f"{n} × {role}" if n > 1 else role for role, n in v.items()) or "nothing" for k, v in sides.items()
    }
    canvas.note(f"On side A of the line falls: {falls['A']}. On side B: {falls['B']}.")


def _scissors(at: XY, ux: float, uy: float) -> str:
    """A pair of scissors at the start of the cut, pointing along it."""
    frame = f"matrix({num(ux)} {num(-uy)} {num(uy)} {num(ux)} {num(at.x)} {num(-at.y)})"
    blades = "M-4 1.4 L4.2 -0.5 L-3.2 -0.4 M-4 -1.4 L4.2 0.5 L-3.2 0.4"
    handles = tag("ellipse", cx=-5.9, cy=1.9, rx=2.1, ry=1.35, class_="blade") + tag(
        "ellipse", cx=-5.9, cy=-1.9, rx=2.1, ry=1.35, class_="blade"
    )
    return tag("g", handles, tag("path", d=blades, class_="blade"), transform=frame)


def _snips(canvas: Canvas, scene: Scene, labels: Labels) -> None:
    folded, cutting = scene.folded or (), scene.cutting
    if cutting is None:
        return
    canvas.key_line("cut", "snip")
    walks = [[folded[snip.start], folded[snip.end]] for snip in cutting.snips]
    canvas.path(walks, "cut")
    labels.avoid_lines(walks)
    if len(walks) > 1:
        for number, (a, b) in enumerate(walks, start=1):
            _name(canvas, labels, XY((2 * a.x + b.x) / 3, (2 * a.y + b.y) / 3), f"snip {number}", need=True)


def _layer_counts(canvas: Canvas, scene: Scene, labels: Labels) -> None:
    cutting = scene.cutting
    if cutting is None or len(cutting.layers) > _MANY_SPOTS:
        return
    for part in cutting.layers:
        a, b = (scene.folded_page(cutting.overlaps.spots[x]) for x in (part.start, part.end))
        if hypot(b.x - a.x, b.y - a.y) > 5:
            _name(canvas, labels, XY((a.x + b.x) / 2, (a.y + b.y) / 2), f"{part.count}×")
    canvas.note(f"n×: the cut meets n layers there; {cutting.most_layers} at most.")


def _pieces(canvas: Canvas, scene: Scene) -> None:
    parts, s = scene.parts
    flat = scene.flat if s is scene.subdivision else [scene.to_page(p) for p in s.vertices]
    left = top = tall = 0.0
    lettering = TEXT * canvas.zoom
    widest = max(
        max(flat[v].x for v in _corners(s.faces, p.faces)) - min(flat[v].x for v in _corners(s.faces, p.faces))
        for p in parts
    )
    row = max(_ROW_MM, widest + 1)
    for number, piece in enumerate(parts[:_MANY_PIECES], start=1):
        corners = [flat[v] for v in _corners(s.faces, piece.faces)]
        x0, y1 = min(p.x for p in corners), max(p.y for p in corners)
        wide, high = max(p.x for p in corners) - x0, y1 - min(p.y for p in corners)
        lines = [f"{number} {piece.role}", f"{number_text(piece.area)} {scene.unit}²"]
        block = max(wide, *(text_width(words, lettering) for words in lines))
        if left > 0 and left + block > row:
            left, top, tall = 0.0, top + tall + 8 + 12 * canvas.zoom, 0.0

        def here(v: int, dx: float = left - x0, dy: float = -top - y1) -> XY:
            return XY(flat[v].x + dx, flat[v].y + dy)

        walks = [[here(v) for v in loop] for loop in scene.loops(piece.faces, s)]
        canvas.path(walks, "front", True)
        texture = _ROLE_TEXTURE.get(piece.role)
        if texture:
            canvas.path(walks, "over", True, style=f"fill:{canvas.filled(texture)}")
        mine = set(piece.faces)
        kinds = scene.fold_kinds if s is scene.subdivision else [e.kind for e in s.edges]
        inner = [(e, kind) for e, kind in zip(s.edges, kinds, strict=True) if e.left in mine and e.right in mine]
        for kind in _FOLD_WORDS:
            folds = [[here(e.start), here(e.end)] for e, k in inner if k == kind and not e.target]
            if folds:
                canvas.path(folds, kind, style="stroke-width:0.25")
        slits = [[here(e.start), here(e.end)] for e, _ in inner if e.target]
        if slits:
            canvas.path(slits, "cut")
        canvas.path(walks, "outline", True)
        canvas.reach([p for walk in walks for p in walk], 0.5)
        for k, words in enumerate(lines):
            low = top + high + (5 + k * 4.4) * canvas.zoom
            canvas.add(text(left, low, words, "text" if k == 0 else "soft-text", lettering))
        canvas.reach_box(left, top, left + block, top + high + 12 * canvas.zoom)
        left += block + 12
        tall = max(tall, high)
    for role, texture in _ROLE_TEXTURE.items():
        if any(p.role == role for p in parts):
            canvas.key_fill("front", texture, role)
    if len(parts) > _MANY_PIECES:
        canvas.note(f"… and {len(parts) - _MANY_PIECES} smaller pieces.")


def _corners(faces: Sequence[tuple[int, ...]], chosen: Iterable[int]) -> set[int]:
    return {v for f in chosen for v in faces[f]}
