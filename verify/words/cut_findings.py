"""Findings on the cut: what it hits, misses and hits without leave; the pieces; advice."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterator
from dataclasses import replace
from itertools import chain, pairwise

from verify.cutting.advice import LAYERS_IN_PRACTICE, advice
from verify.cutting.cut import Cut, distance_squared, pulled_back
from verify.cutting.pieces import Piece, comes_apart, pieces
from verify.exact.number import Number
from verify.exact.plane import advance
from verify.pattern.arrangement import subdivide
from verify.pattern.document import Document
from verify.pattern.drawing import draw
from verify.pattern.limits import LimitReached
from verify.pattern.source import Malformed
from verify.pattern.subdivision import Subdivision
from verify.words.findings import Finding, counted, length_text, listed, rounded

_FEW = 3
THICK = (
    f"common practice stops at about {LAYERS_IN_PRACTICE} layers (no standard): thin paper, or a craft knife on a mat"
)


def of_cut(cut: Cut) -> Iterator[Finding]:
    """What the cut does, whether it is exact, and how many snips this folding needs if they are too many."""
    yield from _missed(cut)
    yield from _strays(cut)
    needed, allowed = cut.needed, cut.allowed
    if allowed > 1 and needed is not None and needed > allowed:
        s = cut.overlaps.subdivision
        names = tuple(s.edge_name(snip.edges[0]) for snip in cut.snips)
        message = (
            f"this folding needs {needed} snips; the document allows {allowed}: no two of {', '.join(names)} "
            "lie on one line with nothing but target between them"
        )
        yield Finding("cut", "too-many-snips", "fails", message, names, {"needed": needed, "allowed": allowed})
    if needed is None:
        message = "no number of snips cuts the target in this folding: other paper lies along the target"
        yield Finding("cut", "no-snips", "advice", message)
    if allowed == 1 and not cut.exact and needed is not None:
        snips = "1 snip that does not run right across" if needed == 1 else f"{needed} snips"
        message = f"in this folding the target could be cut by {snips} (a snip is a straight cut along its lines alone)"
        yield Finding("cut", "snips-instead", "advice", message, (), {"needed": needed})
    if cut.exact and not cut.snips:
        message = "nothing is to be cut: the whole target lies along the edge of the sheet"
        yield Finding("cut", "cut-exact", "holds", message, (), {"snips": 0, "layers": 0})
    elif cut.exact:
        one, several = ("frees", "free") if comes_apart(cut.overlaps.subdivision) else ("runs along", "run along")
        snips = f"one straight cut {one}"
        if allowed > 1:
            snips = f"{needed} snips {several}" if needed != 1 else f"1 snip {one}"
        through = f"through {counted(cut.most_layers, 'layer')}"
        value = {"snips": 1 if allowed == 1 else needed, "layers": cut.most_layers}
        yield Finding("cut", "cut-exact", "holds", f"{snips} exactly the target, {through}", (), value)


def _missed(cut: Cut) -> Iterator[Finding]:
    """One finding for each drawn target line of which some part is off the cut line."""
    s = cut.overlaps.subdivision
    parts: dict[int, list[int]] = defaultdict(list)
    for e in cut.missed:
        parts[s.edges[e].target[0]].append(e)
    lines = s.drawing.document.target_lines()
    for number, edges in sorted(parts.items()):
        name = "–".join(lines[number])
        names = [s.edge_name(e) for e in edges]
        off = length_text(max(distance_squared(cut, e) for e in edges), s.drawing.document.unit)
        lengths = [length_text(_squared(s, e), s.drawing.document.unit) for e in edges]
        if len(edges) == len(s.target_chains[number]) - 1:
            a, b = s.drawing.target[number]
            whole = length_text(advance(a, b, b), s.drawing.document.unit)
            message = f"target line {name} ({whole}) does not fold onto the cut line: it lies up to {off} off"
        else:
            listed = ", ".join(f"{n} ({length} long)" for n, length in zip(names, lengths, strict=True))
            message = (
                f"target line {name} does not fold onto the cut line everywhere: not at {listed}, which "
                f"lies up to {off} off the line"
            )
        yield Finding("cut", "missed", "fails", message, (name, *names), {"lengths": lengths, "distance": off})


def _strays(cut: Cut) -> Iterator[Finding]:
    """What is cut and should not be, largest first; what a larger one implies is not said again."""
    s = cut.overlaps.subdivision
    faces = {cell.number for cell, _ in cut.stray if cell.kind == "face"}
    if cut.missed and faces:
        names = [s.face_name(f) for f in sorted(faces)]
        panels = counted(len(names), "panel")
        message = f"so the cut line goes through {panels} instead: {', '.join(n.removeprefix('panel ') for n in names)}"
        yield Finding("cut", "stray-cut", "fails", message, tuple(names))
        return
    said = {v for f in faces for v in s.faces[f]}
    for cell, near in sorted(cut.stray, key=lambda pair: _RANK[pair[0].kind]):
        if cell.kind == "face":
            yield _through_face(cut, cell.number, near)
        elif cell.kind == "edge":
            e = s.edges[cell.number]
            along = cut.overlaps.edge_line[cell.number] == cut.overlaps.edge_line[near]
            if along:
                said |= set(e.ends)
                yield _along_edge(s, cell.number)
            elif not faces & {e.left, e.right}:
                message = f"the cut goes across {_called(s, cell.number)} {s.edge_name(cell.number)}"
                yield Finding("cut", "stray-crossing", "fails", message, (s.edge_name(cell.number),))
        elif cell.number not in said:
            name = s.name(cell.number)
            yield Finding("cut", "stray-point", "fails", f"the cut touches {name}, which is not on the target", (name,))


_RANK = {"face": 0, "edge": 1, "vertex": 2}


def _called(s: Subdivision, edge: int) -> str:
    kind = s.edges[edge].kind
    return {"border": "the sheet's edge", "flat": "the flat line"}.get(kind, f"the {kind} fold")


def _along_edge(s: Subdivision, edge: int) -> Finding:
    name = s.edge_name(edge)
    square = _squared(s, edge)
    length = length_text(square, s.drawing.document.unit)
    value = {"length_squared": square.text()}
    if s.edges[edge].is_auxiliary:
        message = f"the cut runs on through the sheet along {name} ({length}), which is not target"
        return Finding("cut", "stray-cut", "fails", message, (name,), value)
    message = f"{_called(s, edge)} {name} ({length}) folds onto the cut and is not target"
    return Finding("cut", "stray-edge", "fails", message, (name,), value)


def _through_face(cut: Cut, face: int, near: int) -> Finding:
    s = cut.overlaps.subdivision
    name = s.face_name(face)
    if cut.allowed > 1:
        message = f"the snip along {s.edge_name(near)} goes through {name}"
        return Finding("cut", "stray-cut", "fails", message, (name, s.edge_name(near)))
    a, b = pulled_back(cut, face)
    square = advance(a, b, b)
    length = length_text(square, s.drawing.document.unit)
    message = f"the cut line goes through {name}, from {s.place_name(a)} to {s.place_name(b)} ({length})"
    return Finding("cut", "stray-cut", "fails", message, (name,), {"length_squared": square.text()})


def of_pieces(s: Subdivision, found: list[Piece]) -> Finding:
    """The pieces with their areas."""
    unit = s.drawing.document.unit
    listed = [
        {"role": p.role, "called": p.called(n), "area": p.area.text(), "area_decimal": p.area.decimal(8)}
        for n, p in enumerate(found, start=1)
    ]
    alike = Counter((p.called(n), rounded(p.area)) for n, p in enumerate(found, start=1))
    shown = [f"{f'{n} × ' if n > 1 else ''}{role} {area} {unit}²" for (role, area), n in alike.items()]
    words = ", ".join(shown[:8]) + (" …" if len(shown) > 8 else "")
    many = counted(len(found), "piece") if len(found) > 1 else "1 piece, nothing comes free"
    return Finding("pieces", "pieces", "holds", f"{many}: {words}", (), {"pieces": listed})


def of_touching(s: Subdivision, found: list[Piece]) -> Iterator[Finding]:
    """Advice where the target touches or crosses itself: one piece lies there on two sides, and others between."""
    piece_of = {f: number for number, piece in enumerate(found) for f in piece.faces}
    for vertex, edges in enumerate(s.around):
        sides = [
            s.edges[e].left if s.edges[e].start == vertex else s.edges[e].right for e in edges if s.edges[e].target
        ]
        if len(sides) < 4 or vertex in s.on_border:
            continue
        counts = Counter(piece_of[f] for f in sides)
        once = sorted(number for number, times in counts.items() if times == 1)
        if len(once) >= 2 and max(counts.values()) > 1:
            at = s.vertices[vertex]
            place = f"({float(at.x):.6g}, {float(at.y):.6g})"
            name, unit = s.drawing.names.get(at), s.drawing.document.unit
            names = " and ".join(f"{found[n].called(n + 1)} ({float(found[n].area):,.4g} {unit}²)" for n in once)
            message = (
                f"the target touches or crosses itself at {f'{name} {place}' if name else place}: {names} meet only "
                "there, and come apart (if they are one figure, draw a bridge between them)"
            )
            yield Finding("advice", "touches-itself", "advice", message, (name or place,))


def of_open(s: Subdivision, found: list[Piece]) -> Iterator[Finding]:
    """Advice where the target is drawn and nothing comes free: at which ends inside the sheet it is open."""
    if len(found) != 1:
        return
    ends = [
        vertex
        for vertex, edges in enumerate(s.around)
        if vertex not in s.on_border and sum(bool(s.edges[e].target) for e in edges) == 1
    ]
    names = tuple(map(s.name, ends))
    value = {}
    if len(ends) == 2:
        a, b = (s.vertices[v] for v in ends)
        value = {"distance": length_text(advance(a, b, b), s.drawing.document.unit)}
        where = f"open between {names[0]} and {names[1]} ({value['distance']} apart)"
    elif ends:
        where = f"open at {listed(names, _FEW)}"
    else:
        return
    message = f"the target is {where}, so nothing comes free: close it if a figure is to come out"
    yield Finding("advice", "open-target", "advice", message, names, value)


def of_target(s: Subdivision, found: list[Piece]) -> Iterator[Finding]:
    """Advice that the target alone gives: where it is open, and where it touches itself."""
    yield from of_open(s, found)
    yield from of_touching(s, found)


def advice_on_target(document: Document) -> list[str]:
    """The same in words, of a target alone: nothing where it cannot be drawn, which others say."""
    try:
        s = subdivide(draw(replace(document, creases=())))
        return [finding.message for finding in of_target(s, pieces(s))]
    except (Malformed, LimitReached):
        return []


def of_advice(cut: Cut, found: list[Piece]) -> Iterator[Finding]:
    """Advice that is no refusal."""
    s, known = cut.overlaps.subdivision, advice(cut, found)
    if known.along_folds:
        names = tuple(map(s.edge_name, known.along_folds))
        message = (
            f"the cut runs along a fold at {', '.join(names)}: cut a hair inside the fold, or the layers stay joined"
        )
        yield Finding("advice", "along-a-fold", "advice", message, names)
    if known.along_sheet:
        order = {s.edge_at[pair]: n for n, pair in enumerate(chain.from_iterable(map(pairwise, s.target_chains)))}
        names = tuple(map(s.edge_name, sorted(known.along_sheet, key=order.__getitem__)))
        count = f" at {len(names)} places" if len(names) > _FEW else ""
        at = f" ({', '.join(names[:_FEW])}, …)" if count else f" at {', '.join(names)}"
        message = f"the target runs along the edge of the sheet{count}{at}: it is cut already"
        yield Finding("advice", "along-the-sheets-edge", "advice", message, names)
    if known.is_thick:
        yield Finding("advice", "thick", "advice", f"the scissors meet {known.layers} layers; {THICK}")
    for piece, width in known.slivers:
        name = s.face_name(piece.faces[0])
        message = f"a piece of the cut is only about {width:.2g} mm wide near {name}"
        yield Finding("advice", "sliver", "advice", message, (name,))


def _squared(s: Subdivision, edge: int) -> Number:
    """The square of an edge's length on the flat sheet."""
    a, b = (s.vertices[v] for v in s.edges[edge].ends)
    return advance(a, b, b)
