"""The sheet at full size, on one page or several, with a legend and a ruler that checks the printer."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from functools import partial
from math import log10

from reportlab.platypus import Flowable

from verify.cutting.hands import StraightCrease
from verify.exact.number import Number
from verify.exact.plane import Point
from verify.pattern.document import IN_MM
from verify.pattern.source import printable
from verify.show.handout.pages import (
    EDGE,
    FOOT,
    FULL_SIZE,
    HEAD,
    PageDrawing,
    PaperName,
    new_page,
    paragraphs,
    say,
    size_of,
    table,
)
from verify.show.handout.subject import Subject, true_scale
from verify.show.handout.tiles import MARGIN, MOST_TILES, OVERLAP, Tiles, tiles
from verify.show.labels import Labels
from verify.show.page import XY, At, Box, box_of, corners_of, fitted, is_in, middle_of
from verify.show.print import Pen, shortened
from verify.show.scene import Scene
from verify.show.sheet import draw_lines, keys_of, outline_of, target_walks
from verify.show.surface import lead, legend, name
from verify.words.findings import counted
from verify.words.step_words import marks_spoken_of

Names = Mapping[Point, str]
_RULER, _LEGEND = 15.0, 10.0
_NAMES = _NUMBER = 2.6
_PARTS = (0.5, 0.3, 0.7, 0.2, 0.8, 0.1, 0.9)
_MANY_NAMES = 40
_SMALL = 130.0  # how high the drawing of a sheet is that fills too many pages
_MANY_MEASURES, _COLUMNS = 60, 4
_SHORT = 6.0
_DOT = 0.5
_CLEAR, _WEIGHT = 5.0, 3.0  # so far from other creases is far enough, and how much that weighs
_MANY_CREASES = 150


def laid_out(subject: Subject, scene: Scene) -> Tiles:
    """How the sheet lies on the pages."""
    at = true_scale(scene)
    corners = [p for loop in outline_of(scene, at) for p in loop]
    figure = [(walk[0], walk[-1]) for walk in target_walks(scene, at)]
    return tiles(corners, *_areas(subject.paper), figure)


def printable_area(paper: PaperName) -> tuple[float, float]:
    """How wide and how high a sheet may be that fits on one upright page, in millimetres."""
    (wide, high), _ = _areas(paper)
    return wide - 2 * MARGIN, high - 2 * MARGIN


def _areas(paper: PaperName) -> tuple[tuple[float, float], tuple[float, float]]:
    """What a page holds, upright and across."""
    wide, high = size_of(paper)
    lost = HEAD + FOOT + _RULER + _LEGEND + 2 * EDGE + 0.5
    return (wide - 2 * EDGE, high - lost), (high - 2 * EDGE, wide - lost)


def template(
    subject: Subject, scene: Scene, laid: Tiles, called: str = "template", creases: Sequence[StraightCrease] = ()
) -> Iterator[Flowable]:
    """The pages of the sheet, or a drawing of it; `creases`: those with numbers in place of the names of points."""
    own = subject.scene.subdivision.drawing.names if subject.scene is not None else {}
    names = {**scene.subdivision.drawing.names, **own}
    if laid.count > MOST_TILES:
        yield from _too_large(subject, scene, laid, names, creases)
        return
    if laid.count > 1:
        yield from _overview(subject, scene, laid)
    names = {} if creases else names
    for row, column in laid.each():
        part = f"{called}, {FULL_SIZE}{f', page {laid.name(row, column)}' if laid.count > 1 else ''}"
        yield from new_page(subject.part(part), "landscape" if laid.landscape else "portrait")
        yield PageDrawing(
            laid.area[0], laid.area[1] + _RULER + _LEGEND, partial(_tile, scene, names, creases, laid, row, column)
        )


def _too_large(
    subject: Subject, scene: Scene, laid: Tiles, names: Names, creases: Sequence[StraightCrease]
) -> Iterator[Flowable]:
    yield from new_page(subject.part("drawn small"))
    yield say("Not a template: drawn small", "warning")
    pages = f"the sheet would fill {laid.count:,} pages; a template is printed on at most {MOST_TILES}"
    yield say(f"At full size {pages}.")
    yield PageDrawing(subject.wide, _SMALL, partial(_small, scene, names, creases, subject.wide))
    yield from _measures(subject, scene, names)


def _small(scene: Scene, names: Names, creases: Sequence[StraightCrease], wide: float, pen: Pen) -> None:
    at = fitted(box_of(scene.flat), (12.0, 5.0, wide - 24, _SMALL - 10))
    labels = Labels()
    draw_lines(pen, scene, at, labels, small=True)
    write_numbers(pen, labels, scene, creases, at, (0.0, 0.0, wide, _SMALL))
    _write_names(pen, labels, scene, {called: at(flat) for called, flat in _named(scene, names).items()})


def _measures(subject: Subject, scene: Scene, names: Names) -> Iterator[Flowable]:
    """Where the points with names lie, in the document's unit."""
    file = printable(subject.result.document.source)
    named, spoken = _named(scene, names), _spoken(scene)
    places = {called: p for p, called in names.items() if called in named}
    told = sorted(places.items(), key=lambda one: (one[0] not in spoken, one[1].y, one[1].x))[:_MANY_MEASURES]
    if not told:
        yield from paragraphs("measures", "none", file=file)
        return
    xs, ys = zip(*scene.subdivision.vertices, strict=True)
    unit = subject.result.document.unit
    wide, high = _measure(max(xs) - min(xs), unit), _measure(max(ys) - min(ys), unit)
    yield from paragraphs("measures", "points", unit=unit, wide=wide, high=high)
    cells = [
        say(f"{printable(called)}: {_measure(p.x - min(xs), unit)}; {_measure(p.y - min(ys), unit)}", "small")
        for called, p in told
    ]
    cells += [say("", "small")] * (-len(cells) % _COLUMNS)
    rows = [cells[k : k + _COLUMNS] for k in range(0, len(cells), _COLUMNS)]
    yield table(rows, [subject.wide / _COLUMNS] * _COLUMNS)
    if len(places) > len(told):
        yield from paragraphs("measures", "more", file=file, count=len(places) - len(told))


def _measure(length: Number, unit: str) -> str:
    """A length to some tenths of a millimetre, as fine as anyone marks."""
    places = 1 + round(log10(IN_MM[unit]))
    return f"{float(length):,.{places}f}".rstrip("0").removesuffix(".")


def _overview(subject: Subject, scene: Scene, laid: Tiles) -> Iterator[Flowable]:
    rows, columns = len(laid.rows), len(laid.columns)
    yield from new_page(subject.part("overview of the pages"))
    yield say("How the pages lie", "head")
    yield say(
        f"{counted(rows, 'row')} of {counted(columns, 'page')}; neighbours "
        f"overlap by {OVERLAP:g} mm. "
        "Each register mark (a cross in a ring) stands on both neighbours: lay one over the other. This "
        "overview is not to scale."
    )
    yield PageDrawing(subject.wide, 150, partial(_pages_together, scene, laid, subject.wide))


def _pages_together(scene: Scene, laid: Tiles, wide: float, pen: Pen) -> None:
    box = laid.columns[0][0], laid.rows[-1][0], laid.columns[-1][1], laid.rows[0][1]
    at = fitted(box, (2.0, 2.0, wide - 4, 146.0))
    true = true_scale(scene)
    draw_lines(pen, scene, lambda p: at(laid.turned(true(p))), small=True)
    labels = Labels()
    for row, column in laid.each():
        window = laid.window(row, column)
        pen.lines([[at(p) for p in corners_of(window)]], "frame", closed=True, width=0.25)
        name(pen, labels, at(middle_of(window)), laid.name(row, column), need=True, size=5.0, away=0.0)
    for place in laid.register_marks():
        _register_mark(pen, at(place), 1.2)


def _tile(
    scene: Scene, names: Names, creases: Sequence[StraightCrease], laid: Tiles, row: int, column: int, pen: Pen
) -> None:
    """One page: the sheet in the middle of what the page holds, clipped to its window."""
    x0, y0, x1, y1 = window = laid.window(row, column)
    low = _RULER + _LEGEND
    dx, dy = (laid.area[0] - (x1 - x0)) / 2, (laid.area[1] - (y1 - y0)) / 2
    true = true_scale(scene)

    def on_page(p: XY) -> XY:
        return XY(p.x - x0 + dx, p.y - y0 + dy + low)

    def at(p: XY) -> XY:
        return on_page(laid.turned(true(p)))

    frame = [on_page(p) for p in corners_of(window)]
    marks = [p for p in laid.register_marks() if is_in(window, p)]
    labels = Labels(outline_of(scene, at))
    for place in map(on_page, marks):
        labels.avoid_spot(place, 2.4)
    with pen.group(clip=[frame]):
        _keep_inside(labels, box_of(frame))
        letters = draw_lines(pen, scene, at, labels)
        write_numbers(pen, labels, scene, creases, at, box_of(frame))
        here = {called: flat for called, flat in _named(scene, names).items() if is_in(window, laid.turned(true(flat)))}
        _write_names(pen, labels, scene, {called: at(flat) for called, flat in here.items()})
    if laid.count > 1:
        pen.lines([frame], "frame", closed=True)
        for place in marks:
            _register_mark(pen, on_page(place), 2.0)
    legend(pen, keys_of(scene, letters), 0.0, laid.area[0], _RULER + 6.0, row=4.4)
    _ruler(pen)


def _keep_inside(labels: Labels, box: Box) -> None:
    x0, y0, x1, y1 = box
    far = 1e4
    labels.avoid_box((x0 - far, y0 - far, x0, y1 + far))
    labels.avoid_box((x1, y0 - far, x1 + far, y1 + far))
    labels.avoid_box((x0 - far, y0 - far, x1 + far, y0))
    labels.avoid_box((x0 - far, y1, x1 + far, y1 + far))


def _spoken(scene: Scene) -> set[str]:
    """The points of which the steps speak."""
    folded = scene.result.carried
    return marks_spoken_of(folded.recipe) if folded is not None else set()


def _named(scene: Scene, names: Names) -> dict[str, XY]:
    """Where points with names lie on the scene's flat sheet: ends of what is drawn, and those of which steps speak."""
    spoken, vertices = _spoken(scene), set(scene.subdivision.vertices)
    return {called: scene.to_page(p) for p, called in names.items() if p in vertices or called in spoken}


def _write_names(pen: Pen, labels: Labels, scene: Scene, named: Mapping[str, XY]) -> None:
    """The names of points on the page; those of which the steps speak have a dot, and a name however many there are."""
    needed = sorted(named.keys() & _spoken(scene))
    for called in needed:
        pen.disc(named[called], _DOT, "dot")
        labels.avoid_spot(named[called], _DOT)
    for called in sorted(named if len(named) <= _MANY_NAMES else needed, key=lambda called: called not in needed):
        words, need = shortened(printable(called), 40, _NAMES), called in needed
        if name(pen, labels, named[called], words, need=need, away=1.4, size=_NAMES) and need:
            lead(pen, labels, named[called])


def write_numbers(
    pen: Pen, labels: Labels, scene: Scene, creases: Sequence[StraightCrease], at: At, inside: Box
) -> None:
    """Each crease's number, where it is farthest from others and creases, if need be with a thin line to its own."""
    spots: list[XY] = []
    lines = [(at(scene.flat[v]), at(scene.flat[w])) for crease in creases for v, w in [crease.ends]]
    for number, (a, b) in enumerate(lines, start=1):
        others = [line for line in lines if line != (a, b)] if len(lines) <= _MANY_CREASES else []

        def room(p: XY, others: Sequence[tuple[XY, XY]] = others) -> float:
            """How far a spot is from other numbers and, which weighs more, from other creases."""
            beside = min((_off(p, *line) for line in others), default=_CLEAR)
            return min([min(beside, _CLEAR) * _WEIGHT, *(p.distance(q) for q in spots)])

        parts = _PARTS if a.distance(b) > _SHORT else _PARTS[:1]  # so that a line does not lead to where creases meet
        tried = [p for part in parts if is_in(inside, p := a.between(b, part))]
        if tried:
            spots.append(max(tried, key=room))
            name(pen, labels, spots[-1], str(number), need=True, away=0.4, size=_NUMBER)
            if lead(pen, labels, spots[-1]):
                pen.disc(spots[-1], 0.4, "dot")


def _off(p: XY, a: XY, b: XY) -> float:
    """How far a place is from a segment."""
    along = a.direction(b)
    part = (p.x - a.x) * along.x + (p.y - a.y) * along.y
    part = min(max(part, 0.0), a.distance(b))
    return p.distance(a.offset(along, part))


def _register_mark(pen: Pen, at: XY, size: float) -> None:
    pen.disc(at, size * 0.55, "tie")
    cross = [[XY(at.x - size, at.y), XY(at.x + size, at.y)], [XY(at.x, at.y - size), XY(at.x, at.y + size)]]
    pen.lines(cross, "rim", width=0.15)


def _ruler(pen: Pen) -> None:
    """Exactly 100 mm, with a tick every 10."""
    y = 7.0
    pen.lines([[XY(0, y), XY(100, y)]], "rim")
    ticks = [[XY(x, y), XY(x, y + (3.0 if x % 50 == 0 else 2.0 if x % 10 == 0 else 1.0))] for x in range(0, 101, 5)]
    pen.lines(ticks, "rim", width=0.2)
    for x in range(0, 101, 10):
        pen.write(XY(x, y - 3.2), str(x), 2.3, anchor="middle" if x else "start")
    pen.write(XY(108, y + 0.4), "mm. This ruler must be 100 mm long:", 2.5)
    pen.write(XY(108, y - 3.2), "print at 100 %, not “fit to page”.", 2.5)
