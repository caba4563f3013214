"""What SVG elements look like, as far as it matters here: painted or not, in which colour, with which dashes.

Presentation attributes, `style` attributes and plain style sheets (rules for tags, classes and ids) in the order of
the cascade: attributes, then sheets by specificity, then `style` (SVG 1.1 §6.4, CSS 2.1 §6.4). Other selectors are
refused, since what they hide or show cannot be told.
"""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction

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

COLOURS: dict[str, str] = dict(
    re.findall(
        r"(\w+)=(\w+)",
        """
aliceblue=f0f8ff antiquewhite=faebd7 aqua=00ffff aquamarine=7fffd4 azure=f0ffff beige=f5f5dc bisque=ffe4c4 black=000000
blanchedalmond=ffebcd blue=0000ff blueviolet=8a2be2 brown=a52a2a burlywood=deb887 cadetblue=5f9ea0 chartreuse=7fff00
chocolate=d2691e coral=ff7f50 cornflowerblue=6495ed cornsilk=fff8dc crimson=dc143c cyan=00ffff darkblue=00008b
darkcyan=008b8b darkgoldenrod=b8860b darkgray=a9a9a9 darkgreen=006400 darkgrey=a9a9a9 darkkhaki=bdb76b
darkmagenta=8b008b darkolivegreen=556b2f darkorange=ff8c00 darkorchid=9932cc darkred=8b0000 darksalmon=e9967a
darkseagreen=8fbc8f darkslateblue=483d8b darkslategray=2f4f4f darkslategrey=2f4f4f darkturquoise=00ced1
darkviolet=9400d3 deeppink=ff1493 deepskyblue=00bfff dimgray=696969 dimgrey=696969 dodgerblue=1e90ff firebrick=b22222
floralwhite=fffaf0 forestgreen=228b22 fuchsia=ff00ff gainsboro=dcdcdc ghostwhite=f8f8ff gold=ffd700 goldenrod=daa520
gray=808080 green=008000 greenyellow=adff2f grey=808080 honeydew=f0fff0 hotpink=ff69b4 indianred=cd5c5c indigo=4b0082
ivory=fffff0 khaki=f0e68c lavender=e6e6fa lavenderblush=fff0f5 lawngreen=7cfc00 lemonchiffon=fffacd lightblue=add8e6
lightcoral=f08080 lightcyan=e0ffff lightgoldenrodyellow=fafad2 lightgray=d3d3d3 lightgreen=90ee90 lightgrey=d3d3d3
lightpink=ffb6c1 lightsalmon=ffa07a lightseagreen=20b2aa lightskyblue=87cefa lightslategray=778899
lightslategrey=778899 lightsteelblue=b0c4de lightyellow=ffffe0 lime=00ff00 limegreen=32cd32 linen=faf0e6
magenta=ff00ff maroon=800000 mediumaquamarine=66cdaa mediumblue=0000cd mediumorchid=ba55d3 mediumpurple=9370db
mediumseagreen=3cb371 mediumslateblue=7b68ee mediumspringgreen=00fa9a mediumturquoise=48d1cc mediumvioletred=c71585
midnightblue=191970 mintcream=f5fffa mistyrose=ffe4e1 moccasin=ffe4b5 navajowhite=ffdead navy=000080 oldlace=fdf5e6
olive=808000 olivedrab=6b8e23 orange=ffa500 orangered=ff4500 orchid=da70d6 palegoldenrod=eee8aa palegreen=98fb98
paleturquoise=afeeee palevioletred=db7093 papayawhip=ffefd5 peachpuff=ffdab9 peru=cd853f pink=ffc0cb plum=dda0dd
powderblue=b0e0e6 purple=800080 rebeccapurple=663399 red=ff0000 rosybrown=bc8f8f royalblue=4169e1 saddlebrown=8b4513
salmon=fa8072 sandybrown=f4a460 seagreen=2e8b57 seashell=fff5ee sienna=a0522d silver=c0c0c0 skyblue=87ceeb
slateblue=6a5acd slategray=708090 slategrey=708090 snow=fffafa springgreen=00ff7f steelblue=4682b4 tan=d2b48c
teal=008080 thistle=d8bfd8 tomato=ff6347 turquoise=40e0d0 violet=ee82ee wheat=f5deb3 white=ffffff whitesmoke=f5f5f5
yellow=ffff00 yellowgreen=9acd32
""",
    )
)
"""The named colours of CSS Color 4 §6.1, as hexadecimal digits. They mean nothing here but themselves."""


def colour(text: str) -> str:
    """A colour in one way of writing, `#rrggbb`; any other paint as it stands, in small letters."""
    text = " ".join(text.lower().split())
    if text in COLOURS:
        return "#" + COLOURS[text]
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
class Style:
    """The computed style of one element."""

    values: Mapping[str, str]

    @staticmethod
    def computed(own: Mapping[str, str], above: Mapping[str, str]) -> Style:
        """From an element's own properties and the inherited ones of the element above."""
        values = {key: own.get(key, "inherit") for key in INHERITED}
        values = {
            key: above[key] if value in ("inherit", "unset") else INHERITED[key] if value == "initial" else value
            for key, value in values.items()
        }
        for paint in ("fill", "stroke"):
            if values[paint].lower() == "currentcolor":
                values[paint] = values["color"]
        return Style(values | {key: own[key] for key in OWN if key in own})

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
