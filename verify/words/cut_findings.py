"""Findings on the cut: what it hits, misses and should not have hit; the pieces; advice."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterator, Sequence
from fractions import Fraction
from itertools import chain, combinations
from math import ceil

from verify.cutting.cut import LAYERS_IN_PRACTICE, Cut, distance_squared, pulled_back
from verify.cutting.pieces import Piece, comes_apart
from verify.exact.number import Number
from verify.exact.plane import advance, polygon_is_simple, root_float
from verify.pattern.document import IN_MM
from verify.pattern.drawing import Drawing
from verify.pattern.subdivision import Subdivision, place_text
from verify.words.conflict import edge_words
from verify.words.findings import Finding, counted, finding, length_text, listed, piece_words, rounded

_FEW = 3
_CORNERS = 16  # of an outline that is offered
_SLIVER_MM = 1.0  # a piece narrower than this tears rather than cuts (our own choice, no source)
_NEAR_MM = Fraction(2)  # a loose end so near another one was perhaps meant to meet it (our own choice, no source)
_EITHER = 0.5  # a line with so much of the figure as another one has, or more, may be meant (our own choice, no source)
THICK = (
    f"common practice stops at about {LAYERS_IN_PRACTICE} layers (no standard): use thin paper, or a craft knife "
    "on a mat"
)


def of_cut(cut: Cut) -> Iterator[Finding]:
    """What the cut does, whether it is exact, and how many snips this folding needs if they are too many."""
    yield from _missed(cut)
    yield from _strays(cut)
    yield from _either_line(cut)
    needed, allowed = cut.needed, cut.allowed
    if allowed > 1 and needed is not None and needed > allowed:
        names = [cut.overlaps.subdivision.edge_name(snip.edges[0]) for snip in cut.snips]
        yield finding("too-many-snips", names, {"needed": needed, "allowed": allowed})
    if needed is None:
        yield finding("no-snips")
    if allowed == 1 and not cut.exact and needed is not None:
        snips = "1 snip that does not run right across" if needed == 1 else f"{needed} snips"
        yield finding("snips-instead", value={"needed": needed}, snips=snips)
    if cut.exact and not cut.snips:
        yield finding("cut-exact", value={"snips": 0, "layers": 0}, says="nothing")
    elif cut.exact:
        one, several = ("frees", "free") if comes_apart(cut.overlaps.subdivision) else ("runs along", "run along")
        how = f"one straight cut {one}"
        if allowed > 1:
            how = f"{needed} snips {several}" if needed != 1 else f"1 snip {one}"
        value = {"snips": 1 if allowed == 1 else needed, "layers": cut.most_layers}
        yield finding("cut-exact", value=value, how=how, through=counted(cut.most_layers, "layer"))


def _missed(cut: Cut) -> Iterator[Finding]:
    """One finding for each drawn target line of which some part is off the cut line."""
    s = cut.overlaps.subdivision
    unit = s.drawing.document.unit
    parts: dict[int, list[int]] = defaultdict(list)
    for e in cut.missed:
        parts[s.edges[e].target[0]].append(e)
    lines = s.drawing.document.target_lines()
    for number, edges in sorted(parts.items()):
        name = "–".join(lines[number])
        names = [s.edge_name(e) for e in edges]
        lengths = [length_text(_squared(s, e), unit) for e in edges]
        value = {
            "lengths": lengths,
            "distance": length_text(max(distance_squared(cut, e) for e in edges), unit),
        }
        if len(edges) == len(s.target_chains[number]) - 1:
            a, b = s.drawing.target[number]
            whole = length_text(advance(a, b, b), unit)
            yield finding("missed", [name, *names], value, name=name, whole=whole)
        else:
            some = ", ".join(f"{n} ({length} long)" for n, length in zip(names, lengths, strict=True))
            yield finding("missed", [name, *names], value, says="partly", name=name, parts=some)


def _either_line(cut: Cut) -> Iterator[Finding]:
    """Advice where so much of the figure lies on one other line that this one may be meant."""
    if not cut.missed or cut.line is None:
        return
    s = cut.overlaps.subdivision
    lines = s.drawing.document.target_lines()
    parts: dict[int, set[int]] = defaultdict(set)
    lengths: dict[int, float] = defaultdict(float)
    for e, edge in enumerate(s.edges):
        if edge.is_cut:
            line = int(cut.overlaps.edge_line[e])
            parts[line].add(edge.target[0])
            lengths[line] += root_float(_squared(s, e))
    taken, other = sorted(lengths, key=lambda line: (line != cut.line, -lengths[line]))[:2]
    if min(len(parts[taken]), len(parts[other])) > 1 and lengths[other] > _EITHER * lengths[taken]:
        ones, twos = (["–".join(lines[part]) for part in sorted(parts[line])] for line in (taken, other))
        yield finding("either-line", [*ones, *twos], one=listed(ones, _FEW), two=listed(twos, _FEW))


def _strays(cut: Cut) -> Iterator[Finding]:
    """What is cut and should not be, largest first; what a larger one implies is not said again."""
    s = cut.overlaps.subdivision
    faces = {cell.number for cell, _ in cut.stray if cell.kind == "face"}
    if cut.missed and faces:
        names = [*dict.fromkeys(s.panel_with(f) for f in sorted(faces))]
        corners = ", ".join(n.removeprefix("panel ") for n in names)
        yield finding("stray-cut", names, says="instead", panels=counted(len(names), "panel"), corners=corners)
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
                yield finding("stray-crossing", [s.edge_name(cell.number)], edge=edge_words(e.kind))
        elif cell.number not in said:
            yield finding("stray-point", [s.name(cell.number)])


_RANK = {"face": 0, "edge": 1, "vertex": 2}


def _along_edge(s: Subdivision, edge: int) -> Finding:
    name, square = s.edge_name(edge), _squared(s, edge)
    length = length_text(square, s.drawing.document.unit)
    value = {"length_squared": square.text()}
    if s.edges[edge].is_auxiliary:
        return finding("stray-cut", [name], value, says="on", length=length)
    return finding("stray-edge", [name], value, edge=edge_words(s.edges[edge].kind), length=length)


def _through_face(cut: Cut, face: int, near: int) -> Finding:
    s = cut.overlaps.subdivision
    name = s.panel_with(face)
    if cut.allowed > 1:
        snip = s.edge_name(near)
        return finding("stray-cut", [name, snip], says="snip", near=snip, name=name)
    a, b = pulled_back(cut, face)
    square = advance(a, b, b)
    length, value = length_text(square, s.drawing.document.unit), {"length_squared": square.text()}
    return finding("stray-cut", [name], value, start=s.place_name(a), end=s.place_name(b), length=length)


def of_pieces(s: Subdivision, found: list[Piece]) -> Finding:
    """The pieces with their areas."""
    unit = s.drawing.document.unit
    each = [
        {"role": p.role, "called": p.called(n), "area": p.area.text(), "area_decimal": p.area.decimal(8)}
        for n, p in enumerate(found, start=1)
    ]
    alike = Counter((piece_words(p.called(n)), rounded(p.area)) for n, p in enumerate(found, start=1))
    shown = [f"{f'{n} × ' if n > 1 else ''}{role} {area} {unit}²" for (role, area), n in alike.items()]
    called = ", ".join(shown[:8]) + (" …" if len(shown) > 8 else "")
    many = counted(len(found), "piece") if len(found) > 1 else "1 piece, nothing comes free"
    return finding("pieces", value={"pieces": each}, many=many, called=called)


def of_touching(s: Subdivision, found: list[Piece]) -> Iterator[Finding]:
    """Advice where the target touches or crosses itself, once for the same pieces: they have no line in common. One
    piece lies there on two sides, and others between; or all are different, and some of them the figure's.
    """
    piece_of = {f: number for number, piece in enumerate(found) for f in piece.faces}
    beside = {frozenset((piece_of[e.left], piece_of[e.right])) for e in s.edges if e.kind != "border"}
    told = set()
    for vertex, edges in enumerate(s.around):
        lines = [s.edges[e] for e in edges if s.edges[e].target]
        at_paper = any(s.edges[e].kind == "border" and not s.edges[e].target for e in edges)
        if len(lines) < 4 or at_paper:
            continue
        sides = [line.left_from(vertex) for line in lines]
        counts = Counter(piece_of[f] for f in sides if f >= 0)
        once = sorted(number for number, times in counts.items() if times == 1)
        if max(counts.values()) == 1:
            once = [number for number in once if found[number].role == "target"]
            once = [] if _crossing_at(s, vertex) else once
        apart = all(frozenset(pair) not in beside for pair in combinations(once, 2))  # but for such points
        if len(once) >= 2 and apart and tuple(once) not in told:
            told.add(tuple(once))
            place = place_text(s.vertices[vertex])
            name, unit = s.drawing.names.get(s.vertices[vertex]), s.drawing.document.unit
            named = ((piece_words(found[n].called(n + 1)), float(found[n].area)) for n in once)
            those = " and ".join(f"{piece} ({area:,.4g} {unit}²)" for piece, area in named)
            at = f"{s.drawing.document.told(name)} {place}" if name else place
            yield finding("touches-itself", [name or place], at=at, apart=those)


def of_crossing(s: Subdivision) -> Iterator[Finding]:
    """Advice where outlines cross each other: what two of them enclose counts as outside."""
    document = s.drawing.document
    for vertex in range(len(s.vertices)):
        crossing = _crossing_at(s, vertex)
        if crossing:
            first, second = (document.loops[number] for number in crossing)
            own = (next((p for p in a if p not in b), a[0]) for a, b in ((first, second), (second, first)))
            one, two = map(document.told, own)
            corners = _union(s, crossing)
            joined = f": {'–'.join(corners)}" if 0 < len(corners) <= _CORNERS else ""
            at, value = place_text(s.vertices[vertex]), {"union": corners}
            yield finding("outlines-cross", [s.name(vertex)], value, at=at, one=one, two=two, joined=joined)
            return


def _union(s: Subdivision, loops: Sequence[int]) -> list[str]:
    """The corners of the one outline round all that these outlines enclose; none if there is not just one."""
    document = s.drawing.document
    loop_of = [number for number, loop in enumerate(document.loops) for _ in loop]
    sides: dict[int, list[tuple[int, frozenset[int]]]] = defaultdict(list)
    for e in s.edges:
        lines = Counter(loop_of[t] for t in e.target if t < len(loop_of))
        crossed = frozenset(n for n in loops if lines[n] % 2)
        sides[e.left].append((e.right, crossed))
        sides[e.right].append((e.left, crossed))
    within = {-1: frozenset[int]()}  # of each face the outlines that enclose it; -1 is beyond the sheet
    reached = [-1]
    for face in reached:
        for other, crossed in sides[face]:
            if other not in within:
                within[other] = within[face] ^ crossed
                reached.append(other)
    outlines = s.outlines(face for face, enclosing in within.items() if enclosing)
    names = {} if document.drawn else s.drawing.names
    corners = s.turning(outlines[0]) if len(outlines) == 1 else []
    return [names.get(s.vertices[v]) or place_text(s.vertices[v]) for v in corners]


def _crossing_at(s: Subdivision, vertex: int) -> tuple[int, ...]:
    """The numbers of the two outlines that cross at a vertex; none if there are not two that do."""
    lines = [s.edges[e].target[0] for e in s.around[vertex] if s.edges[e].target]
    if len(lines) != 4:
        return ()
    loop_of = [number for number, loop in enumerate(s.drawing.document.loops) for _ in loop]
    loops = [loop_of[line] for line in lines if line < len(loop_of)]
    if len(loops) == 4 and loops[0] == loops[2] != loops[1] == loops[3]:
        return tuple(sorted(loops[:2]))
    return ()


def of_open(s: Subdivision, found: list[Piece]) -> Iterator[Finding]:
    """Advice where the target is drawn and nothing comes free, or nothing says what the figure is: at which ends inside
    the sheet it is open.
    """
    if not found or (len(found) > 1 and found[0].role != "piece"):
        return
    ends = [
        vertex
        for vertex, edges in enumerate(s.around)
        if vertex not in s.on_border and sum(bool(s.edges[e].target) for e in edges) == 1
    ]
    document = s.drawing.document
    names = [s.name(v) for v in ends]
    told = list(map(document.told, names))
    but = "nothing comes free" if len(found) == 1 else "nothing comes free along those lines"
    if len(ends) == 2:
        a, b = (s.vertices[v] for v in ends)
        value = {"distance": length_text(advance(a, b, b), document.unit)}
        yield finding("open-target", names, value, says="gap", one=told[0], two=told[1], but=but)
    elif ends:
        yield finding("open-target", names, ends=listed(told, _FEW), but=but)


def of_target(s: Subdivision, found: list[Piece]) -> Iterator[Finding]:
    """Advice that the target alone gives: where it is open, where it touches or crosses itself, and whether its
    pieces have no name.
    """
    yield from of_open(s, found)
    yield from of_touching(s, found)
    yield from of_crossing(s)
    if len(found) > 1 and found[0].role == "piece":
        yield _unnamed(s.drawing)


def _unnamed(drawing: Drawing) -> Finding:
    closed = [[drawing.places[name] for name in line[1:]] for line in drawing.document.paths if line[0] == line[-1]]
    if any(len(line) > 2 and polygon_is_simple(line) is not None for line in closed):
        return finding("unnamed-pieces", says="crossed")
    if drawing.document.source.lower().endswith(".svg"):
        return finding("unnamed-pieces", says="drawing")
    return finding("unnamed-pieces")


def of_loose_end(drawing: Drawing) -> Iterator[Finding]:
    """Advice where a line of the target ends close to another one, or to the sheet's edge; its value has the distance
    in mm at which `--join` closes it.
    """
    from verify.construct.moves.joining import nearest_end, short_of_edge

    unit = drawing.document.unit
    within = _NEAR_MM / IN_MM[unit]
    to_a_point = nearest_end(drawing, within)
    found = to_a_point or short_of_edge(drawing, within)
    if found is not None:
        one, other, far = found
        place = other if to_a_point else f"the sheet's edge {other}"
        mm = far * float(IN_MM[unit])
        join = f"{ceil(10 * mm + 1) / 10:.1f}"  # a little more, for the drawing may have been moved
        yield finding("nearly-closed", [one, other], {"join": join}, one=one, place=place, far=far, unit=unit)


def of_advice(cut: Cut, found: list[Piece]) -> Iterator[Finding]:
    """Advice that is no refusal."""
    s = cut.overlaps.subdivision
    along_folds = [s.edge_name(i) for i, e in enumerate(s.edges) if e.target and e.is_fold]
    if along_folds:
        yield finding("along-a-fold", along_folds)
    names = list(chain.from_iterable(_along_sheet(s, line) for line in s.target_chains))
    if names:
        few = ", ".join(names[:_FEW])
        at = f" at {len(names)} places ({few}, …)" if len(names) > _FEW else f" at {few}"
        yield finding("along-the-sheets-edge", names, at=at)
    if cut.most_layers > LAYERS_IN_PRACTICE:
        yield finding("thick", layers=cut.most_layers, practice=THICK)
    for piece in found:
        ratio = 2 * root_float(piece.area * piece.area) / piece.around if piece.around else 0.0
        width = ratio * float(IN_MM[s.drawing.document.unit])
        if width < _SLIVER_MM:
            yield finding("sliver", [s.face_name(piece.faces[0])], width=width)


def _along_sheet(s: Subdivision, line: Sequence[int]) -> list[str]:
    """Where a drawn line, given by its vertices, runs along the sheet's edge: its name if all of it does."""
    edges = s.edges_along(line)
    along = [edge for edge in edges if s.edges[edge].kind == "border"]
    if along == edges:
        return [f"{s.name(line[0])}–{s.name(line[-1])}"]
    return [s.edge_name(edge) for edge in along]


def _squared(s: Subdivision, edge: int) -> Number:
    """The square of an edge's length on the flat sheet."""
    a, b = (s.vertices[v] for v in s.edges[edge].ends)
    return advance(a, b, b)
