"""SVG as text: a surface that grows with what is drawn on it, with a title, a legend and notes."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from html import escape
from typing import Any, Unpack

from verify.errors import optional
from verify.show.page import XY
from verify.show.style import LIGHT, css
from verify.show.surface import TEXT, Anchor, Key, Stroke, Surface, Walks, legend

FONT = "DejaVu Sans, Verdana, sans-serif"
_WIDE = 0.6
_ZOOM = 1.45
_FINE = 10
# so many millimetres for a zoom of 1: names of about 10 px where the picture is 340 px wide
_READ = 80.0


DPI = 144  # of a picture as PNG


def renderer() -> Any:
    """The library that makes PNG of SVG. Raises `NotInstalled`."""
    return optional("cairosvg", "png", "PNG")


def png(svg: str) -> bytes:
    """The SVG text as PNG, at `DPI` dots for 25.4 mm. Raises `NotInstalled`."""
    # A px of CSS is 1/96 in, so the scale is the dots asked for over 96.
    image: bytes = renderer().svg2png(bytestring=svg.encode(), scale=DPI / 96)
    return image


def num(x: float) -> str:
    """A length in page millimetres, to a thousandth."""
    shown = f"{x:.3f}".rstrip("0").rstrip(".")
    return "0" if shown == "-0" else shown


def tag(name: str, *children: str, **attributes: object) -> str:
    """An element; `_` in attribute names stands for `-`, a trailing one is dropped; None leaves the attribute out."""
    listed = "".join(
        f' {key.rstrip("_").replace("_", "-")}="{escape(num(v) if isinstance(v, float) else str(v))}"'
        for key, v in attributes.items()
        if v is not None
    )
    return f"<{name}{listed}>{''.join(children)}</{name}>" if children else f"<{name}{listed}/>"


def path_data(walks: Walks, closed: bool = False) -> str:
    """Straight walks as path data; y is turned to point down."""
    return " ".join(
        "M" + " L".join(f"{num(p.x)} {num(-p.y)}" for p in walk) + (" Z" if closed else "") for walk in walks if walk
    )


def texture(name: str, ident: str) -> str:
    """The definition of a texture: `hatch`, `dots`, `lines` or `cross`.

    It is drawn `_FINE` times as large and then scaled down: some renderers (cairosvg) keep one tile as dots, which else
    were too few.
    """
    shapes = {
        "hatch": tag("path", d="M-0.5 0.5 L0.5 -0.5 M0 2.2 L2.2 0 M1.7 2.7 L2.7 1.7", class_="hatch"),
        "dots": tag("circle", cx="0.6", cy="0.6", r="0.28", class_="dots")
        + tag("circle", cx="1.9", cy="1.9", r="0.28", class_="dots"),
        "lines": tag("path", d="M0 1 L2.2 1", class_="line-texture"),
        "cross": tag("path", d="M0 0 L2.6 2.6 M2.6 0 L0 2.6", class_="cross"),
    }
    size = {"hatch": 2.2, "dots": 2.6, "lines": 2.2, "cross": 2.6}[name] * _FINE
    place = {"id": ident, "width": size, "height": size, "patternUnits": "userSpaceOnUse"}
    tile = tag("g", shapes[name], transform=f"scale({_FINE})")
    return tag("pattern", tile, **place, patternTransform=f"scale({num(1 / _FINE)})")


class Canvas(Surface):
    """What is drawn, its bounding box, the legend's entries and the notes below.

    `bare`: for a page that brings the style sheet and the title; lettering is larger by `zoom`, and the legend and the
    notes without a mark follow the picture as HTML. `prefix` keeps ids apart in one page. `across`: how large the
    picture is, where it will fill the page's width; its lettering is then in proportion, and can be read on a phone.
    """

    def __init__(self, prefix: str = "", bare: bool = False, across: float = 0.0) -> None:
        self.prefix, self.bare = prefix, bare
        self.zoom = 1.0 if not bare else across / _READ if across else _ZOOM
        self.body: list[str] = []
        self.keys: list[Key] = []
        self.notes: list[tuple[str | None, str]] = []
        self.definitions: dict[str, str] = {}
        self.x0 = self.y0 = float("inf")
        self.x1 = self.y1 = float("-inf")

    # What every surface does.

    def lines(self, walks: Walks, kind: str, **how: Unpack[Stroke]) -> None:
        data = path_data(walks, how.get("closed", False))
        if data:
            said = {"stroke-width": how.get("width"), "stroke-opacity": how.get("opacity")}
            style = [f"{key}:{num(value)}" for key, value in said.items() if value is not None]
            if dashes := how.get("dashes"):
                style.append(f"stroke-dasharray:{' '.join(map(num, dashes))}")
            self.add(tag("path", d=data, class_=kind, style=";".join(style) or None))

    def fill(self, loops: Walks, kind: str | None, texture: str | None = None, opacity: float | None = None) -> None:
        data = path_data(loops, True)
        if kind:
            own = None if opacity is None else f"fill-opacity:{num(opacity)}"
            self.add(tag("path", d=data, class_=kind, fill_rule="evenodd", style=own))
        if texture:
            shown = "" if opacity is None or kind else f";fill-opacity:{num(opacity)}"
            over = "fault-face" if texture == "cross" else "over"
            self.add(
                tag("path", d=data, class_=over, fill_rule="evenodd", style=f"fill:{self._texture(texture)}{shown}")
            )

    def disc(self, at: XY, radius: float, kind: str) -> None:
        self.add(tag("circle", cx=at.x, cy=-at.y, r=radius, class_=kind))

    def write(self, at: XY, words: str, size: float = TEXT, kind: str = "text", anchor: Anchor = "start") -> None:
        place = {"x": at.x, "y": -at.y, "font_size": size * self.zoom, "class_": kind}
        self.add(tag("text", escape(words, quote=False), **place, text_anchor=None if anchor == "start" else anchor))

    def measure(self, words: str, size: float = TEXT) -> float:
        return len(words) * (size * self.zoom) * _WIDE

    @contextmanager
    def group(self, clip: Walks | None = None, key: str = "", **attributes: object) -> Iterator[None]:
        outer, self.body = self.body, []
        yield
        inner, self.body = self.body, outer
        shape = None
        if clip is not None:
            ident = f"{self.prefix}clip-{key}"
            self.definitions[ident] = tag("clipPath", tag("path", d=path_data(clip, True)), id=ident)
            shape = f"url(#{ident})"
        self.add(tag("g", *inner, clip_path=shape, **attributes))

    def reach(self, places: Iterable[XY], margin: float = 0.0) -> None:
        for p in places:
            self.x0, self.y0 = min(self.x0, p.x - margin), min(self.y0, -p.y - margin)
            self.x1, self.y1 = max(self.x1, p.x + margin), max(self.y1, -p.y + margin)

    # What SVG does besides.

    def add(self, *elements: str) -> None:
        self.body += elements

    def key(self, entry: Key) -> None:
        """An entry of the legend, once."""
        if entry not in self.keys:
            self.keys.append(entry)

    def note(self, words: str, mark: str | None = None) -> None:
        """A line of text below the drawing, after a mark of 6 × 5 mm (middle at y = 0) if there is one."""
        self.notes.append((mark, words))

    def _texture(self, name: str) -> str:
        ident = f"{self.prefix}{name}"
        self.definitions[ident] = texture(name, ident)
        return f"url(#{ident})"

    def svg(self, title: str, subtitle: str, describe: str) -> str:
        if self.x0 > self.x1:
            self.reach([XY(0, 0), XY(100, -1)])
        pad = 5.0
        least = 0.0 if self.bare else 128.0
        grow = max(0.0, (least - (self.x1 - self.x0)) / 2)
        left, right = self.x0 - grow - pad, self.x1 + grow + pad
        top, bottom = self.y0 - pad, self.y1 + pad
        drawn = self.body
        self.body = []
        if not self.bare:
            top = self._head(title, subtitle, left + pad, right - pad, top)
            bottom = self._foot(left + pad, right - pad, bottom)
        around, self.body = self.body, drawn
        below = self._below() if self.bare else ""
        definitions = tag("defs", *self.definitions.values()) if self.definitions else ""
        ident = f"{self.prefix}title"
        wide, high = right - left, bottom - top
        picture = tag(
            "svg",
            tag("title", escape(f"{title}: {subtitle}" if title else subtitle, quote=False), id=ident),
            tag("desc", escape(describe, quote=False), id=f"{ident}-desc"),
            "" if self.bare else tag("style", css(LIGHT)),
            definitions,
            tag("rect", x=left, y=top, width=wide, height=high, class_="ground"),
            *around,
            *drawn,
            xmlns="http://www.w3.org/2000/svg",
            width=None if self.bare else f"{num(wide)}mm",
            height=None if self.bare else f"{num(high)}mm",
            viewBox=f"{num(left)} {num(top)} {num(wide)} {num(high)}",
            font_family=FONT,
            role="img",
            aria_labelledby=f"{ident} {ident}-desc",
        )
        return picture + below

    def _head(self, title: str, subtitle: str, left: float, right: float, top: float) -> float:
        """The title over the picture; where it begins (y down)."""
        head = [
            (line, size)
            for words, size in ((title, 4.4), (subtitle, TEXT))
            for line in _wrapped(words, right - left, size)
        ]
        y = top - 3.0 - sum(size * 1.4 for _, size in head)
        line_at = y + 4.0
        for words, size in head:
            line_at += size * 0.9
            self.write(XY(left, -line_at), words, size, "text" if size > TEXT else "soft-text")
            line_at += size * 0.5
        return y

    def _foot(self, left: float, right: float, y: float) -> float:
        """The legend and the notes below the picture; where they end (y down)."""
        if self.keys:
            with self.group(transform="translate(0 0)"):
                y = -legend(self, self.keys, left, right, -(y + 4.0)) + 4.0
        y += 1.0
        for mark, words in self.notes:
            indent = 7.5 if mark else 0.0
            if mark:
                y += 1.2  # or the mark would touch the note above
                self.add(tag("g", mark, transform=f"translate({num(left)} {num(y + 2)})"))
            for line in _wrapped(words, right - left - indent, 2.7):
                self.write(XY(left + indent, -(y + 3.0)), line, 2.7)
                y += 4.1
            y += 0.9
        return y + 3.0

    def _below(self) -> str:
        entries = "".join(tag("li", self._sign(entry), " ", escape(entry.words, quote=False)) for entry in self.keys)
        notes = "".join(
            tag("p", escape(words, quote=False), class_="remark") for mark, words in self.notes if mark is None
        )
        return (tag("ul", entries, class_="legend") if entries else "") + notes

    def _sign(self, entry: Key) -> str:
        sign = Canvas(self.prefix, bare=True)
        sign.definitions = self.definitions
        entry.draw(sign, 0.0, 0.0)
        return tag("svg", *sign.body, viewBox="-0.5 -2.5 11 5", aria_hidden="true")


def _wrapped(words: str, width: float, size: float) -> list[str]:
    columns = max(12, int(width / (size * _WIDE)))
    return textwrap.wrap(words, columns, break_on_hyphens=False)
