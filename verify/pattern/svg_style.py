"""What SVG elements look like, as far as it matters: painted or not, their colours and dashes.

Presentation attributes, `style` attributes and plain style sheets (rules for tags, classes and ids) in the order of
the cascade: attributes, then sheets by specificity, then `style` (SVG 1.1 §6.4, CSS 2.1 §6.4). Other selectors are
refused, since what they hide or show cannot be told.
"""

from __future__ import annotations

import re
import tomllib
from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import cache
from pathlib import Path

from verify.pattern.svg_text import Misread, length, number, numbers, quoted
from verify.pattern.svg_tree import Element

INHERITED = {
    "fill": "black",
    "stroke": "none",
    "stroke-width": "1",
    "stroke-dasharray": "none",
    "stroke-linejoin": "miter",
    "stroke-linecap": "butt",
    "stroke-miterlimit": "4",
    "fill-rule": "nonzero",
    "fill-opacity": "1",
    "stroke-opacity": "1",
    "visibility": "visible",
    "color": "black",
}
OWN = ("display", "opacity", "clip-path", "mask", "filter", "overflow", "transform-origin")
# geometry that CSS can set or move, in a syntax of its own
_ELSEWHERE = frozenset(
    (
        *("d", "x", "y", "cx", "cy", "r", "rx", "ry", "width", "height"),
        *("transform", "transform-box", "translate", "rotate", "scale", "zoom", "offset-path"),
    )
)
_READ = frozenset((*INHERITED, *OWN))
_SELECTOR = re.compile(r"(?P<tag>[A-Za-z][\w-]*|\*)?(?P<rest>(?:[.#][\w-]+)*)", re.ASCII)


@cache
def colours() -> dict[str, str]:
    """The named colours of CSS Color 4 §6.1, as hexadecimal digits. They mean nothing here but themselves."""
    return tomllib.loads(Path(__file__).with_name("colours.toml").read_text(encoding="utf-8"))


def colour(text: str) -> str:
    """A colour in one way of writing, `#rrggbb`; any other paint as it stands, in small letters."""
    text = " ".join(text.lower().split())
    if text in colours():
        return "#" + colours()[text]
    if re.fullmatch(r"#[0-9a-f]{3}", text):
        return "#" + "".join(2 * c for c in text[1:])
    parts = re.fullmatch(r"rgb\(\s*(\d{1,3})\s*[, ]\s*(\d{1,3})\s*[, ]\s*(\d{1,3})\s*\)", text)
    if parts:
        return "#" + "".join(f"{min(int(x), 255):02x}" for x in parts.groups())
    return text


def dashes(text: str) -> tuple[Fraction, ...]:
    """The numbers of a `stroke-dasharray`, () for an unbroken line. Raises `Misread`."""
    if text.strip().lower() in ("none", ""):
        return ()
    try:
        found = tuple(numbers(text))
    except Misread:
        found = tuple(length(part) for part in re.split(r"[\s,]+", text.strip()))
    return found if any(found) else ()


@dataclass(frozen=True)
class _Rule:
    tag: str
    classes: frozenset[str]
    ids: frozenset[str]
    declarations: Mapping[str, str]

    def matches(self, element: Element) -> bool:
        return (
            self.tag in ("", "*", element.tag)
            and self.classes <= set(element.attributes.get("class", "").split())
            and self.ids <= {element.id}
        )

    @property
    def key(self) -> str:
        """What an element must have for the rule to be looked at."""
        if self.ids:
            return "#" + min(self.ids)
        return "." + min(self.classes) if self.classes else self.tag.replace("*", "")

    @property
    def specificity(self) -> tuple[int, int, int]:
        return len(self.ids), len(self.classes), int(self.tag not in ("", "*"))


class Sheet:
    """The style sheets of one drawing."""

    def __init__(self) -> None:
        self.rules: dict[str, list[tuple[tuple[int, int, int], int, _Rule]]] = defaultdict(list)
        self.count = 0

    def add(self, text: str) -> None:
        """Read one more sheet. Raises `Misread`."""
        text = re.sub(r"/\*.*?\*/|<!--|-->", " ", text, flags=re.S)
        while text.strip():
            head, brace, rest = text.partition("{")
            if "@" in head or not brace:
                raise Misread(f"{quoted(head.strip())} in a style sheet", "plain rules", unsupported=True)
            body, brace, text = rest.partition("}")
            if not brace or "{" in body:
                raise Misread(f"{quoted(body.strip())} in a style sheet", '"}" after it')
            found = declarations(body)
            for selector in head.split(","):
                rule = self._rule(selector.strip(), found)
                self.count += 1
                self.rules[rule.key].append((rule.specificity, self.count, rule))

    @staticmethod
    def _rule(selector: str, found: Mapping[str, str]) -> _Rule:
        match = _SELECTOR.fullmatch(selector)
        if match is None or not selector:
            raise Misread(
                f"the selector {quoted(selector)} in a style sheet", "tags, .classes and #ids", unsupported=True
            )
        rest = match["rest"]
        classes, ids = (frozenset(re.findall(rf"\{c}([\w-]+)", rest)) for c in ".#")
        return _Rule(match["tag"] or "", classes, ids, found)

    def properties(self, element: Element) -> dict[str, str]:
        """What is said of this element itself. Raises `Misread`."""
        own = {key: element.attributes[key].strip() for key in _READ if key in element.attributes}
        keys = ["", element.tag, "#" + element.id, *("." + c for c in set(element.attributes.get("class", "").split()))]
        found = [entry for key in keys for entry in self.rules.get(key, ()) if entry[2].matches(element)]
        for _, _, rule in sorted(found, key=lambda entry: entry[:2]):
            own |= rule.declarations
        if "style" in element.attributes:
            own |= declarations(element.attributes["style"])
        return own


def declarations(text: str) -> dict[str, str]:
    """The properties that matter in `name: value; …`. Raises `Misread` for those that move or shape things."""
    found = {}
    for part in text.split(";"):
        name, colon, value = (x.strip() for x in part.partition(":"))
        name = name.lower()
        if name in _ELSEWHERE and colon and value not in ("", "none", "auto"):
            raise Misread(f"the style {quoted(f'{name}: {value}')}", f"{name} as an attribute", unsupported=True)
        if name in _READ and colon:
            if "!" in value or "var(" in value:
                raise Misread(f"the style {quoted(f'{name}: {value}')}", "a plain value", unsupported=True)
            found[name] = value
    return found


@dataclass(frozen=True)
class ElementStyle:
    """The computed style of one element."""

    values: Mapping[str, str]

    @staticmethod
    def computed(own: Mapping[str, str], above: Mapping[str, str]) -> ElementStyle:
        """From an element's own properties and the inherited ones of the element above."""
        values = {key: own.get(key, "inherit") for key in INHERITED}
        values = {
            key: above[key] if value in ("inherit", "unset") else INHERITED[key] if value == "initial" else value
            for key, value in values.items()
        }
        for paint in ("fill", "stroke"):
            if values[paint].lower() == "currentcolor":
                values[paint] = values["color"]
        return ElementStyle(values | {key: own[key] for key in OWN if key in own})

    def inherited(self) -> dict[str, str]:
        return {key: self.values[key] for key in INHERITED}

    @property
    def hidden(self) -> bool:
        """Drawn neither itself nor anything in it."""
        return self.values.get("display") == "none" or _zero(self.values.get("opacity", "1"))

    @property
    def stroked(self) -> bool:
        v = self.values
        return _paints(v["stroke"]) and not _zero(v["stroke-opacity"]) and not _zero(v["stroke-width"])

    @property
    def filled(self) -> bool:
        return _paints(self.values["fill"]) and not _zero(self.values["fill-opacity"])

    @property
    def visible(self) -> bool:
        return self.values["visibility"] == "visible"

    @property
    def obstacle(self) -> str | None:
        """A property that makes the picture differ from the lines, or None."""
        for key, harmless in (("clip-path", "none"), ("mask", "none"), ("filter", "none"), ("transform-origin", "")):
            if self.values.get(key, harmless) not in (harmless, ""):
                return f"{key}: {self.values[key]}"
        return None


def _paints(paint: str) -> bool:
    return paint.lower() not in ("none", "transparent")


def _zero(text: str) -> bool:
    digits: Sequence[str] = re.findall(r"^\s*[+-]?[\d.]+(?:[eE][+-]?\d+)?", text)
    try:
        return bool(digits) and number(digits[0]) == 0
    except Misread:
        return False
