"""The handout: what a teacher prints and lays on the table, as a PDF in true scale.

For each document: the sheet to fold, tiled over several pages if it is larger than one; for a recipe its steps, numbered; where
the scissors go; the cautions; and a page for the teacher with what exactly was proved. Lengths on
the template are the document's own, rounded to a thousandth of a point; print at 100 % and measure the ruler. The PDF is drawn
by reportlab (a kept library of its trade, BSD), with the Bitstream Vera fonts that it brings along embedded.
"""

from __future__ import annotations

import math
import shlex
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from verify.certificate.certify import Result
from verify.certificate.explain import proved
from verify.certificate.fold_report import tolerance_lines
from verify.cutting.advice import LAYERS_IN_PRACTICE
from verify.cutting.tolerance import tolerance
from verify.exact.plane import Point, locate
from verify.folding.simple import Done, State
from verify.pattern.document import IN_MM, printable
from verify.pattern.recipe import FoldStep, MarkStep, Recipe
from verify.pattern.subdivision import Subdivision

MM = 72 / 25.4
PAPERS = {"a4": (210.0, 297.0), "letter": (215.9, 279.4)}  # mm: ISO 216; the North American letter, 8.5 × 11 in
MARGIN = 12.0  # mm, more than common printers leave white
HEAD, FOOT = 26.0, 16.0  # mm above and below a template
OVERLAP = 10.0  # mm that two tiles share
MOST_TILES = 40
SAMPLES = 40
VALLEY, MOUNTAIN = (4.0, 2.5), (8.0, 2.0, 1.2, 2.0)  # points: dashed, dash-dotted
CAUTIONS = (
    "Sit down to cut. Keep fingers clear of the line, and the free hand behind the blades.",
    "Close the blades before you pass scissors on, and pass them handle first.",
    "A craft knife needs a mat, a metal rule and a cut away from the body; it is for adults or under their eyes.",
    "Small groups, close supervision. Many layers need force: do not force children's scissors.",
    "The rules of your school, club or workplace come first.",
)


class NoPrinter(RuntimeError):
    """The library that writes PDF is not installed."""

    def __init__(self) -> None:
        super().__init__(
            "handouts need reportlab: pip install 'creaseproof[print]' (in a checkout: pip install '.[print]')"
        )


class TooLarge(ValueError):
    """A sheet that would need more than `MOST_TILES` pages."""


@dataclass(frozen=True)
class Frame:
    """The part of a page on which drawings and text may stand, in mm from the lower left corner."""

    left: float
    bottom: float
    right: float
    top: float

    @property
    def width(self) -> float:
        return self.right - self.left

    @property
    def height(self) -> float:
        return self.top - self.bottom


XY = tuple[float, float]


def handout(results: Sequence[Result], path: str | Path, paper: str = "a4") -> int:
    """Write the handout of some results to a PDF file; returns the number of pages.

    `paper`: `a4` or `letter`. Raises `NoPrinter` without reportlab, `TooLarge` for a sheet of too many pages, OSError.
    """
    try:
        from reportlab.pdfbase import pdfmetrics
        from reportlab.pdfbase.ttfonts import TTFont
        from reportlab.pdfgen.canvas import Canvas
    except ImportError:
        raise NoPrinter from None
    for name, file in (("Text", "Vera.ttf"), ("Bold", "VeraBd.ttf")):
        pdfmetrics.registerFont(TTFont(name, file))
    size = PAPERS[paper]
    canvas = Canvas(str(path), pagesize=(size[0] * MM, size[1] * MM), pageCompression=1, invariant=1)
    canvas.setTitle("; ".join(title(r) for r in results))
    canvas.setCreator("creaseproof")
    pages = _Pages(canvas, Frame(MARGIN, MARGIN, size[0] - MARGIN, size[1] - MARGIN))
    for result in results:
        _Handout(result, pages).write()
    canvas.save()
    return pages.count


def title(result: Result) -> str:
    """What a result's document is called: its title, or the name of its file."""
    return printable(result.document.title) or Path(result.document.source).stem


class _Pages:
    """A canvas in mm, with text that wraps and goes on on a new page."""

    def __init__(self, canvas: Any, frame: Frame) -> None:
        self.canvas, self.frame = canvas, frame
        self.count, self.y, self.running = 0, frame.top, ""

    def new(self, running: str) -> None:
        """A new page; `running` stands at its foot."""
        if self.count:
            self.canvas.showPage()
        self.count += 1
        self.running = running
        self.y = self.frame.top
        foot = self.wrapped(running, self.frame.width - 15, 7)[0]
        self.line_of_text(foot, self.frame.left, self.frame.bottom - 5, 7, gray=0.35)
        self.line_of_text(str(self.count), self.frame.right - 5, self.frame.bottom - 5, 7, gray=0.35)

    def line_of_text(self, text: str, x: float, y: float, size: float = 9, font: str = "Text", gray: float = 0) -> None:
        self.canvas.setFillGray(gray)
        self.canvas.setFont(font, size)
        self.canvas.drawString(x * MM, y * MM, _known(text))

    def wrapped(self, text: str, width: float, size: float, font: str = "Text") -> list[str]:
        """The text in lines of at most this width in mm; words that are longer are broken."""
        lines: list[str] = []
        for word in _known(text).split(" "):
            rest = word
            while rest:
                joined = f"{lines[-1]} {rest}" if lines and lines[-1] else rest
                if lines and self.canvas.stringWidth(joined, font, size) <= width * MM:
                    lines[-1] = joined
                    break
                fits = len(rest)
                while fits > 1 and self.canvas.stringWidth(rest[:fits], font, size) > width * MM:
                    fits -= 1
                lines.append(rest[:fits])
                rest = rest[fits:]
        return lines or [""]

    def text(self, text: str, size: float = 9, font: str = "Text", indent: float = 0, after: float = 1.5) -> None:
        """A paragraph at the present height; goes on on a new page if there is no room."""
        step = size * 1.35 / MM
        for line in self.wrapped(text, self.frame.width - indent, size, font):
            if self.y - step < self.frame.bottom:
                self.new(self.running)
            self.y -= step
            self.line_of_text(line, self.frame.left + indent, self.y + 0.25 * step, size, font)
        self.y -= after

    def room(self, height: float) -> None:
        """A new page unless there is so much room on this one."""
        if self.y - height < self.frame.bottom:
            self.new(self.running)

    def path(
        self, places: Sequence[XY], width: float, gray: float = 0, dash: Sequence[float] = (), closed: bool = False
    ) -> None:
        """A line through places in mm; `width` and `dash` in points."""
        canvas = self.canvas
        canvas.setStrokeGray(gray)
        canvas.setLineWidth(width)
        canvas.setDash(list(dash))
        path = canvas.beginPath()
        path.moveTo(places[0][0] * MM, places[0][1] * MM)
        for x, y in places[1:]:
            path.lineTo(x * MM, y * MM)
        if closed:
            path.close()
        canvas.drawPath(path, stroke=1, fill=0)

    def area(self, places: Sequence[XY], gray: float) -> None:
        canvas = self.canvas
        canvas.setFillGray(gray)
        path = canvas.beginPath()
        path.moveTo(places[0][0] * MM, places[0][1] * MM)
        for x, y in places[1:]:
            path.lineTo(x * MM, y * MM)
        path.close()
        canvas.setStrokeGray(gray)  # a hair of the same grey, so that no seam shows between two areas
        canvas.setLineWidth(0.25)
        canvas.setDash([])
        canvas.drawPath(path, stroke=1, fill=1)


def _known(text: str) -> str:
    """The text with what the fonts have no shape for replaced."""
    swaps = {"√": "sqrt ", "…": "...", "≤": "<=", "≥": ">=", "−": "-", "∞": "infinite"}
    return "".join(swaps.get(c, c if ord(c) < 0x180 or c in "–—‘’“”•€™" else "?") for c in text)


class _Handout:
    """The pages of one document."""

    def __init__(self, result: Result, pages: _Pages) -> None:
        self.result, self.pages = result, pages
        self.unit = float(IN_MM[result.document.unit])
        self.title = title(result)

    def write(self) -> None:
        s = self.result.subdivision
        if self.result.verdict != "certified" or s is None:
            self._not_certified()
            return
        self._template(s)
        if self.result.folded_steps is not None:
            self._steps()
        else:
            self._all_at_once()
        self._cut()
        self._teacher()

    def place(self, p: Point) -> XY:
        """A place in mm."""
        return float(p.x) * self.unit, float(p.y) * self.unit

    # a document that is not certified gets no template

    def _not_certified(self) -> None:
        pages = self.pages
        pages.new(self.title)
        pages.text(self.title, 18, "Bold", after=4)
        pages.text(f"{self.result.verdict}: do not teach this from here", 13, "Bold", after=3)
        reasons = [f.message for f in self.result.findings if f.level == "fails" or f.check == "limit"]
        pages.text(
            "The kernel accepted a proof that this document does not do what it says:"
            if self.result.verdict == "refuted"
            else "Nothing is proved either way, so there is no template to fold:"
        )
        for reason in reasons or ["(no reason was noted)"]:
            pages.text("• " + reason, indent=3)
        pages.text(f"Statement {self.result.statement_sha256}", 7)

    # the sheet in true scale

    def _template(self, s: Subdivision) -> None:
        frame = self.pages.frame
        flat = [self.place(p) for p in s.vertices]
        low = (min(x for x, _ in flat), min(y for _, y in flat))
        size = (max(x for x, _ in flat) - low[0], max(y for _, y in flat) - low[1])
        room = (frame.width, frame.height - HEAD - FOOT)
        across, up = (_tiles(length, at) for length, at in zip(size, room, strict=True))
        if across * up > MOST_TILES:
            raise TooLarge(
                f"{self.result.document.source}: the sheet is {size[0]:.0f} × {size[1]:.0f} mm: "
                f"found {across * up} pages, expected at most {MOST_TILES}"
            )
        if across * up > 1:
            self._overview(s, flat, low, size, across, up)
        for row in range(up):
            for column in range(across):
                name = f"{chr(65 + column)}{up - row}" if across * up > 1 else ""
                step = (room[0] - OVERLAP, room[1] - OVERLAP)
                corner = (low[0] + column * step[0], low[1] + row * step[1])
                self._tile(s, flat, corner, size if across * up == 1 else None, name)

    def _tile(self, s: Subdivision, flat: Sequence[XY], corner: XY, whole: XY | None, name: str) -> None:
        pages, frame = self.pages, self.pages.frame
        pages.new(f"{self.title} · template {name}".strip())
        pages.text(self.title + (f", part {name}" if name else ""), 13, "Bold", after=0.5)
        pages.text(
            "True size: print at 100 %, without fitting to the page, and measure the ruler. Fold on the lines, cut nowhere yet.",
            7.5,
        )
        self._ruler(frame.left, frame.top - HEAD + 3)
        self._legend(frame.left + 112, frame.top - HEAD + 4)
        bottom = frame.bottom + FOOT
        room = (frame.width, frame.height - HEAD - FOOT)
        shift = (0.0, 0.0) if whole is None else ((room[0] - whole[0]) / 2, (room[1] - whole[1]) / 2)

        def at(p: XY) -> XY:
            return frame.left + p[0] - corner[0] + shift[0], bottom + p[1] - corner[1] + shift[1]

        canvas = pages.canvas
        canvas.saveState()
        clip = canvas.beginPath()
        clip.rect((frame.left - 1) * MM, (bottom - 1) * MM, (room[0] + 2) * MM, (room[1] + 2) * MM)
        canvas.clipPath(clip, stroke=0, fill=0)
        self._pattern(s, [at(p) for p in flat])
        canvas.restoreState()
        if whole is None:
            for x in (frame.left, frame.right):
                for y in (bottom, bottom + room[1]):
                    pages.path([(x - 3, y), (x + 3, y)], 0.4)
                    pages.path([(x, y - 3), (x, y + 3)], 0.4)
            pages.line_of_text(
                f"Lay the crosses of neighbouring parts on each other; they overlap by {OVERLAP:g} mm.",
                frame.left,
                frame.bottom + 4,
                7,
            )
        pages.line_of_text(
            "Scissors and knives: see the cautions on the page “Where to cut”. Local rules come first.",
            frame.left,
            frame.bottom,
            7,
        )

    def _pattern(self, s: Subdivision, at: Sequence[XY], thin: float = 1) -> None:
        """The lines of the flat sheet."""
        order = self.result.order
        for e in s.edges:
            if e.target:
                self.pages.path([at[e.start], at[e.end]], 3.2 * thin, gray=0.72)
        for number, e in enumerate(s.edges):
            ends = [at[e.start], at[e.end]]
            kind: str = e.kind
            if kind == "either" and order is not None:
                kind = order.assignment(number)
            if kind == "border":
                self.pages.path(ends, 1.1 * thin)
            elif kind in ("mountain", "valley"):
                self.pages.path(
                    ends, 0.8 * thin, dash=[d * max(thin, 0.5) for d in (VALLEY if kind == "valley" else MOUNTAIN)]
                )
            if e.target:
                self.pages.path(ends, 0.3 * thin, gray=0.2)

    def _ruler(self, x: float, y: float) -> None:
        """Exactly 100 mm, to check the printer."""
        self.pages.path([(x, y), (x + 100, y)], 0.6)
        for i in range(0, 101, 5):
            self.pages.path([(x + i, y), (x + i, y + (3 if i % 50 == 0 else 2 if i % 10 == 0 else 1.2))], 0.4)
        self.pages.line_of_text("0", x, y + 3.6, 6)
        self.pages.line_of_text("this ruler is 100 mm long", x + 30, y - 3.2, 6.5)
        self.pages.line_of_text("100 mm", x + 94, y + 3.6, 6)

    def _legend(self, x: float, y: float) -> None:
        rows: tuple[tuple[str, float, Sequence[float], float], ...] = (
            ("valley: fold towards you", 0.8, VALLEY, 0),
            ("mountain: fold away from you", 0.8, MOUNTAIN, 0),
            ("target: what the cut frees", 3.2, (), 0.72),
        )
        for i, (words, width, dash, gray) in enumerate(rows):
            self.pages.path([(x, y - 3.6 * i), (x + 14, y - 3.6 * i)], width, gray, dash)
            self.pages.line_of_text(words, x + 16, y - 3.6 * i - 0.9, 6.5)

    def _overview(self, s: Subdivision, flat: Sequence[XY], low: XY, size: XY, across: int, up: int) -> None:
        """How the parts of a large sheet lie together."""
        pages, frame = self.pages, self.pages.frame
        pages.new(f"{self.title} · overview")
        pages.text(self.title, 16, "Bold")
        pages.text(
            f"The sheet is {size[0]:.0f} × {size[1]:.0f} mm and comes in {across * up} parts. This page is not to scale."
        )
        room = (frame.width, pages.y - frame.bottom - 6)
        scale = min(room[0] / size[0], room[1] / size[1]) * 0.92

        def at(p: XY) -> XY:
            return frame.left + (p[0] - low[0]) * scale, frame.bottom + 4 + (p[1] - low[1]) * scale

        self._pattern(s, [at(p) for p in flat], thin=0.6)
        step = (frame.width - OVERLAP, frame.height - HEAD - FOOT - OVERLAP)
        for row in range(up):
            for column in range(across):
                corner = (low[0] + column * step[0], low[1] + row * step[1])
                far = (
                    min(corner[0] + step[0] + OVERLAP, low[0] + size[0]),
                    min(corner[1] + step[1] + OVERLAP, low[1] + size[1]),
                )
                a, b = at(corner), at(far)
                pages.path([a, (b[0], a[1]), b, (a[0], b[1])], 0.4, 0.5, (1, 2), closed=True)
                pages.line_of_text(
                    f"{chr(65 + column)}{up - row}", (a[0] + b[0]) / 2 - 3, (a[1] + b[1]) / 2, 14, "Bold", gray=0.35
                )

    # how to fold

    def _all_at_once(self) -> None:
        pages = self.pages
        pages.new(f"{self.title} · folding, and where to cut")
        pages.text("Folding", 15, "Bold")
        folds = sum(e.is_fold for e in self.result.subdivision.edges) if self.result.subdivision else 0
        for line in (
            f"This pattern has {folds} folded edges and is folded all at once. It was proved that it lies flat without paper passing "
            "through paper; how hands get there is not part of the proof.",
            "1. Crease every line sharply, each the right way: valleys (dashed) towards you, mountains (dash-dotted) away from you. A bone "
            "folder or the back of a spoon helps; score thick paper first.",
            "2. Let the longest lines go first, then bring the others in from the border. Do not force: if a fold will not lie down, another one is still open.",
            "3. Press flat. The folded sheet must look like the picture below, and all target lines must lie on one line: hold it against the light.",
        ):
            pages.text(line)

    def _steps(self) -> None:
        pages = self.pages
        folded = self.result.folded_steps
        if folded is None:
            return
        pages.new(f"{self.title} · folding")
        pages.text("Folding, step by step", 15, "Bold")
        pages.text(
            "White is the front of the paper, grey its back. Left: before the step, with the line of the fold. Right: after it.",
            8,
        )
        for number, done in enumerate(folded.done, 1):
            sentence = f"{number}. {printable(done.step.words())}"
            lines = pages.wrapped(sentence, pages.frame.width, 10, "Bold")
            pages.room(58 + 5 * len(lines))
            pages.text(sentence, 10, "Bold", after=1)
            top, half = pages.y, pages.frame.width / 2
            before, after = folded.paper.states[number - 1], folded.paper.states[number]
            boxes = [
                Frame(pages.frame.left + i * half + 4, top - 50, pages.frame.left + (i + 1) * half - 4, top - 2)
                for i in (0, 1)
            ]
            scale = min(self._fitting(state, boxes[0]) for state in (before, after))
            self._state(before, boxes[0], scale, done)
            self._state(after, boxes[1], scale, None)
            pages.y = top - 54

    def _fitting(self, state: State, box: Frame) -> float:
        places = [self.place(p) for p in state.images]
        width, height = (max(p[i] for p in places) - min(p[i] for p in places) for i in (0, 1))
        return min(box.width / max(width, 1e-9), box.height / max(height, 1e-9)) * 0.85

    def _state(self, state: State, box: Frame, scale: float, done: Done | None) -> None:
        """The folded sheet from above, the higher layers over the lower ones; with the fold that comes."""
        folded = self.result.folded_steps
        if folded is None:
            return
        raw = [self.place(p) for p in state.images]
        middle = [(min(p[i] for p in raw) + max(p[i] for p in raw)) / 2 for i in (0, 1)]
        centre = ((box.left + box.right) / 2, (box.bottom + box.top) / 2)

        def at(p: XY) -> XY:
            return centre[0] + (p[0] - middle[0]) * scale, centre[1] + (p[1] - middle[1]) * scale

        places = [at(p) for p in raw]
        faces = folded.paper.faces
        beside: dict[tuple[int, int], int] = {(u, v): f for f, loop in enumerate(faces) for u, v in _around(loop)}
        for f in state.stack:
            self.pages.area([places[v] for v in faces[f]], 0.8 if state.turned[f] else 1.0)
            for u, v in _around(faces[f]):
                g = beside.get((v, u))
                if g is None or state.turned[g] != state.turned[f]:
                    self.pages.path([places[u], places[v]], 0.6)
        if done is not None and done.line is not None and isinstance(done.step, FoldStep):
            line = [at(self.place(p)) for p in done.line]
            self._fold_line(line[0], line[1], places, done)
        if done is not None:
            for name, p in self._marks(done, state).items():
                x, y = at(p)
                self.pages.canvas.setFillGray(0)
                self.pages.canvas.circle(x * MM, y * MM, 1.6, stroke=0, fill=1)
                self.pages.line_of_text(name, x + 1.2, y + 1.2, 7, "Bold")

    def _marks(self, done: Done, state: State) -> dict[str, XY]:
        """Where the marks lie that a step speaks of, before it."""
        folded, step = self.result.folded_steps, done.step
        if folded is None:
            return {}
        names: list[str] = []
        if isinstance(step, FoldStep):
            names = [*step.alignment.marks, step.moves]
        elif isinstance(step, MarkStep):
            names = [step.name, *(name for part in step.crossing if not isinstance(part, int) for name in part)]
        found = {}
        for name in dict.fromkeys(names):
            place = folded.marks.get(name)
            image = None if place is None else self._image(place, state)
            if image is not None:
                found[printable(name)] = image
        return found

    def _image(self, place: Point, state: State) -> XY | None:
        """Where a place of the flat sheet lies in a state, in mm."""
        folded = self.result.folded_steps
        if folded is None:
            return None
        paper = folded.paper
        for f in reversed(state.stack):
            loop = [paper.vertices[v] for v in paper.faces[f]]
            if locate(place, loop) >= 0:
                (ax, ay), (bx, by), (px, py) = self.place(loop[0]), self.place(loop[1]), self.place(place)
                (cx, cy), (dx, dy) = (self.place(state.images[v]) for v in paper.faces[f][:2])
                size = (bx - ax) ** 2 + (by - ay) ** 2
                along = ((px - ax) * (bx - ax) + (py - ay) * (by - ay)) / size
                off = ((bx - ax) * (py - ay) - (by - ay) * (px - ax)) / size * (-1 if state.turned[f] else 1)
                return cx + along * (dx - cx) - off * (dy - cy), cy + along * (dy - cy) + off * (dx - cx)
        return None

    def _fold_line(self, a: XY, b: XY, places: Sequence[XY], done: Done) -> None:
        folded = self.result.folded_steps
        if folded is None:
            return
        dx, dy = b[0] - a[0], b[1] - a[1]
        length = math.hypot(dx, dy)
        dx, dy = dx / length, dy / length
        reach = [(p[0] - a[0]) * dx + (p[1] - a[1]) * dy for p in places]
        ends = [(a[0] + t * dx, a[1] + t * dy) for t in (min(reach) - 3, max(reach) + 3)]
        behind = isinstance(done.step, FoldStep) and done.step.direction == "behind"
        self.pages.path(ends, 1.2, dash=MOUNTAIN if behind else VALLEY)
        moved = {v for f in done.moved for v in folded.paper.faces[f]}
        off = {v: (places[v][0] - a[0]) * -dy + (places[v][1] - a[1]) * dx for v in moved}
        far = max(off, key=lambda v: abs(off[v]), default=None)
        if far is not None and abs(off[far]) > 2:
            tip, side = places[far], off[far]
            start = (tip[0] + dy * side * 0.25, tip[1] - dx * side * 0.25)
            goal = (tip[0] + dy * side * 1.6, tip[1] - dx * side * 1.6)
            middle = [(min(p[i] for p in places) + max(p[i] for p in places)) / 2 for i in (0, 1)]
            self._arrow(start, goal, abs(side) * 0.35, (middle[0], middle[1]))

    def _arrow(self, start: XY, goal: XY, bulge: float, middle: XY) -> None:
        """An arrow, bent towards the middle of the drawing."""
        dx, dy = goal[0] - start[0], goal[1] - start[1]
        length = math.hypot(dx, dy)
        inwards = 1 if dx * (middle[1] - start[1]) - dy * (middle[0] - start[0]) >= 0 else -1
        nx, ny = -dy / length * inwards, dx / length * inwards
        curve = []
        for i in range(13):
            t = i / 12
            lift = 4 * t * (1 - t) * bulge
            curve.append((start[0] + t * dx + lift * nx, start[1] + t * dy + lift * ny))
        self.pages.path(curve, 0.9)
        (px, py), (qx, qy) = curve[-2], curve[-1]
        angle = math.atan2(qy - py, qx - px)
        wings = [(qx - 2.2 * math.cos(angle + w), qy - 2.2 * math.sin(angle + w)) for w in (0.45, -0.45)]
        self.pages.path([wings[0], (qx, qy), wings[1]], 0.9)

    # the cut

    def _cut(self) -> None:
        pages, cutting, folded, s = self.pages, self.result.cutting, self.result.folded, self.result.subdivision
        if self.result.folded_steps is not None:
            pages.new(f"{self.title} · where to cut")
        pages.room(215)
        pages.text("Where to cut", 15, "Bold")
        if folded is not None and s is not None:
            self._folded_sheet(s)
        if cutting is None:
            pages.text("This document says nothing of a cut: it is to be folded flat.")
        else:
            snips = "One straight cut" if cutting.allowed == 1 else f"At most {cutting.allowed} straight snips"
            layers = cutting.most_layers
            pages.text(f"{snips} along the thick line, through up to {layers} layers at once.", 10, "Bold")
            if layers > LAYERS_IN_PRACTICE:
                pages.text(
                    f"More than about {LAYERS_IN_PRACTICE} layers are hard to cut with scissors (common practice, no standard): take thin paper, or a craft knife on a mat."
                )
            pages.text("Cut on the line itself; a hair to one side and the figure loses or keeps a rim of that width.")
        self._cautions()

    def _folded_sheet(self, s: Subdivision) -> None:
        pages, folded, cutting, order = self.pages, self.result.folded, self.result.cutting, self.result.order
        if folded is None:
            return
        steps = self.result.folded_steps
        stack: Sequence[int] = (
            order.stack if order is not None else steps.paper.now.stack if steps is not None else range(len(s.faces))
        )
        raw = [self.place(p) for p in folded.images]
        box = Frame(pages.frame.left + 4, pages.y - 130, pages.frame.right - 4, pages.y - 4)
        low, high = [min(p[i] for p in raw) for i in (0, 1)], [max(p[i] for p in raw) for i in (0, 1)]
        scale = min(box.width / max(high[0] - low[0], 1e-9), box.height / max(high[1] - low[1], 1e-9), 1.0 / 0.9) * 0.9

        def at(p: XY) -> XY:
            return tuple(
                (o + c) / 2 + (p[i] - (low[i] + high[i]) / 2) * scale
                for i, (o, c) in enumerate(((box.left, box.right), (box.bottom, box.top)))
            )  # type: ignore[return-value]

        places = [at(p) for p in raw]
        for f in stack:
            pages.area([places[v] for v in s.faces[f]], 0.8 if folded.turned[f] else 1.0)
            for number in s.face_edges[f]:
                e = s.edges[number]
                if e.kind == "border" or e.is_fold:
                    pages.path([places[e.start], places[e.end]], 0.6)
        if cutting is not None:
            on_line = [places[v] for e in s.edges if e.target for v in e.ends]
            pages.canvas.saveState()
            clip = pages.canvas.beginPath()
            clip.rect(box.left * MM, box.bottom * MM, box.width * MM, box.height * MM)
            pages.canvas.clipPath(clip, stroke=0, fill=0)
            for a, b in self._cut_lines(on_line, places):
                pages.path([a, b], 2.2)
            pages.canvas.restoreState()
        note = "true size" if abs(scale - 1) < 1e-9 else f"{scale:.2g} times the true size"
        pages.y = box.bottom - 2
        pages.text(f"The folded sheet, {note}. White: front of the paper; grey: back.", 7)

    def _cut_lines(self, target: Sequence[XY], places: Sequence[XY]) -> Iterator[tuple[XY, XY]]:
        """The cut through the whole folded sheet, or the target's own stretches for several snips."""
        cutting, s = self.result.cutting, self.result.subdivision
        if cutting is None or s is None:
            return
        if cutting.allowed > 1:
            yield from ((places[e.start], places[e.end]) for e in s.edges if e.target)
            return
        a = target[0]
        b = max(target, key=lambda p: math.dist(a, p))
        dx, dy = (b[0] - a[0]) / math.dist(a, b), (b[1] - a[1]) / math.dist(a, b)
        reach = [(p[0] - a[0]) * dx + (p[1] - a[1]) * dy for p in places]
        first, last = min(reach) - 5, max(reach) + 5
        yield (a[0] + first * dx, a[1] + first * dy), (a[0] + last * dx, a[1] + last * dy)

    def _cautions(self) -> None:
        pages = self.pages
        lines = [line for caution in CAUTIONS for line in pages.wrapped("• " + caution, pages.frame.width - 8, 8.5)]
        height = 10 + 4.2 * len(lines)
        pages.room(height + 4)
        top = pages.y - 2
        pages.path(
            [
                (pages.frame.left, top),
                (pages.frame.right, top),
                (pages.frame.right, top - height),
                (pages.frame.left, top - height),
            ],
            1.2,
            closed=True,
        )
        pages.line_of_text("Scissors and knives", pages.frame.left + 4, top - 6, 10, "Bold")
        for i, line in enumerate(lines):
            pages.line_of_text(line, pages.frame.left + 4, top - 11 - 4.2 * i, 8.5)
        pages.y = top - height - 3

    # for the teacher

    def _teacher(self) -> None:
        pages, result = self.pages, self.result
        pages.new(f"{self.title} · for the teacher")
        pages.text("For the teacher", 15, "Bold")
        pages.text("What was proved", 11, "Bold")
        for line in proved(result):
            if not line.startswith("Statement "):  # it stands below
                pages.text(line)
        pages.text("The statement's digest, which the certificate carries", 11, "Bold")
        pages.text(result.statement_sha256, 8)
        source = Path(result.document.source)
        for line in (
            f"creaseproof certify {shlex.quote(source.name)} -o certificate.json",
            f"creaseproof audit {shlex.quote(source.name)} certificate.json",
        ):
            pages.text(line, 8, indent=4)
        pages.text(
            "The first proves it again, the second lets the small independent kernel check the certificate against your document.",
            8,
        )
        if result.cutting is not None:
            pages.text("At the cut", 11, "Bold")
            pages.text(
                f"The scissors meet up to {result.cutting.most_layers} layers: with office paper of 80 g/m², typically 0.1 mm thick (no standard), about {result.cutting.most_layers * 0.1:.1f} mm."
            )
        recipe = (
            result.document
            if isinstance(result.document, Recipe)
            else result.folded_steps.recipe
            if result.folded_steps is not None
            else None
        )
        if recipe is not None and result.cutting is not None:
            pages.text("How true the folds must be (estimates, not proofs)", 11, "Bold")
            try:
                found = tolerance(recipe, samples=SAMPLES)
            except ValueError as error:
                pages.text(str(error))
            else:
                for line in tolerance_lines(found, recipe.unit):
                    pages.text(line.strip(), 8.5)


def _around(loop: Sequence[int]) -> list[tuple[int, int]]:
    return list(zip(loop, [*loop[1:], loop[0]], strict=True))


def _tiles(length: float, room: float) -> int:
    """How many tiles of this room, overlapping, hold a length; one if it fits."""
    return 1 if length <= room + 1e-9 else math.ceil((length - OVERLAP - 1e-9) / (room - OVERLAP))
