"""The small grammars inside SVG attributes: numbers, lengths, transforms, point lists and path data.

Numbers are the decimals as they are written, as fractions. Sources: SVG 1.1 (Second Edition) §4.2 (numbers and
lengths), §7.6 (transform), §8.3 (path data), §9.7.1 (points); CSS Values 3 §5.2 (1in = 96px). What the standard would
draw up to the first mistake is refused as a whole: half a drawing is not what was meant.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction
from typing import NamedTuple, NoReturn

MAX_DIGITS = 40
MAX_EXPONENT = 30
LARGEST = 10**9

_NUMBER = re.compile(r"[+-]?(?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:[eE][+-]?[0-9]+)?")
_COMMA = re.compile(r"[ \t\n\r\f]*,?[ \t\n\r\f]*")
_BLANK = re.compile(r"[ \t\n\r\f]*")
_ARGUMENTS = {"M": 2, "L": 2, "H": 1, "V": 1, "C": 6, "S": 4, "Q": 4, "T": 2, "A": 7, "Z": 0}
_TRANSFORMS = {"matrix": (6,), "translate": (1, 2), "scale": (1, 2), "rotate": (1, 3), "skewX": (1,), "skewY": (1,)}

# user units (CSS pixels) in one unit
UNITS = {
    "": Fraction(1),
    "px": Fraction(1),
    "in": Fraction(96),
    "cm": Fraction(9600, 254),
    "mm": Fraction(960, 254),
    "q": Fraction(240, 254),
    "pt": Fraction(96, 72),
    "pc": Fraction(96, 6),
}
MM_IN_PX = 1 / UNITS["mm"]


class Misread(ValueError):
    """A text that is not what the attribute wants; `unsupported` if it is, but lies outside what is read here."""

    def __init__(self, found: str, expected: str, *, unsupported: bool = False) -> None:
        self.found, self.expected, self.unsupported = found, expected, unsupported
        super().__init__(f"found {found}; expected {expected}")


class Place(NamedTuple):
    """A place in user units."""

    x: Fraction
    y: Fraction


@dataclass(frozen=True)
class LineTo:
    end: Place


@dataclass(frozen=True)
class Bezier:
    """A Bézier curve: one control point (quadratic) or two (cubic) between the current point and `end`."""

    controls: tuple[Place, ...]
    end: Place


@dataclass(frozen=True)
class EllipticalArc:
    """An elliptical arc; `turn` is the angle of its x axis in degrees."""

    radii: tuple[Fraction, Fraction]
    turn: Fraction
    large: bool
    sweep: bool
    end: Place


Segment = LineTo | Bezier | EllipticalArc


@dataclass
class Subpath:
    """A start, and what is drawn from there; `closed` if it ends with a line back to the start."""

    start: Place
    segments: list[Segment]
    closed: bool = False


def quoted(text: str) -> str:
    """A text in quotation marks, cut short."""
    return f'"{text}"' if len(text) <= 60 else f'"{text[:50]}…" ({len(text):,} characters)'


class _Scanner:
    """Reads a text from left to right; a mistake is reported with what stands there."""

    def __init__(self, text: str) -> None:
        self.text, self.at = text, 0

    def fail(self, expected: str) -> NoReturn:
        rest = self.text[self.at : self.at + 20]
        found = f'"{rest}" at character {self.at + 1}' if rest else f"the end of {quoted(self.text)}"
        raise Misread(found, expected)

    def skip(self, pattern: re.Pattern[str] = _BLANK) -> None:
        match = pattern.match(self.text, self.at)
        self.at = match.end() if match else self.at

    @property
    def done(self) -> bool:
        return self.at >= len(self.text)

    def peek(self) -> str:
        return self.text[self.at : self.at + 1]

    def number(self, expected: str = "a number") -> Fraction:
        match = _NUMBER.match(self.text, self.at)
        if match is None:
            self.fail(expected)
        value = exact_decimal(match[0])
        self.at = match.end()
        return value

    def flag(self) -> bool:
        """A flag of an arc: one character, 0 or 1, that need not be set apart (SVG 1.1 §8.3.9)."""
        if self.peek() not in ("0", "1"):
            self.fail("0 or 1, a flag of an arc")
        self.at += 1
        return self.text[self.at - 1] == "1"


def exact_decimal(text: str) -> Fraction:
    """The value of a decimal as written. Raises `Misread` for one past the declared limits."""
    mantissa, _, exponent = text.lower().partition("e")
    if len(mantissa) > MAX_DIGITS:
        raise Misread(f"the number {quoted(text)}", f"a number of at most {MAX_DIGITS} characters")
    if len(exponent) > 5 or abs(int(exponent or "0")) > MAX_EXPONENT:
        raise Misread(f"the number {quoted(text)}", f"an exponent from -{MAX_EXPONENT} to {MAX_EXPONENT}")
    value = Fraction(text)
    if abs(value) > LARGEST:
        raise Misread(f"the number {quoted(text)}", f"a number of at most {LARGEST:,}")
    return value


def number(text: str) -> Fraction:
    """One number and nothing else."""
    scanner = _Scanner(text)
    scanner.skip()
    value = scanner.number()
    scanner.skip()
    if not scanner.done:
        scanner.fail("the end of the number")
    return value


def numbers(text: str) -> list[Fraction]:
    """Numbers set apart by blanks or commas."""
    scanner = _Scanner(text)
    scanner.skip()
    values: list[Fraction] = []
    while not scanner.done:
        values.append(scanner.number())
        scanner.skip()
        if scanner.peek() == ",":
            scanner.skip(_COMMA)
            if scanner.done:
                scanner.fail("a number after the comma")
    return values


def length(text: str, whole: Fraction | None = None) -> Fraction:
    """A length in user units. `whole` is what 100% means (None: percentages are refused)."""
    scanner = _Scanner(text)
    scanner.skip()
    value = scanner.number("a length such as 120mm")
    unit = scanner.text[scanner.at :].strip()
    if unit == "%":
        if whole is None:
            raise Misread(quoted(text), "a length such as 120mm (what 100% means is not stated)", unsupported=True)
        return value / 100 * whole
    factor = UNITS.get(unit.lower())
    if factor is None:
        known = unit.isalpha()
        raise Misread(f"the unit {quoted(unit)}", "one of mm, cm, in, pt, pc, px, Q", unsupported=known)
    return value * factor


def millimetres(text: str) -> Fraction:
    """A length in mm that a person states beside a drawing: a number without a unit is millimetres, too."""
    in_px = length(text)
    return in_px if text.strip()[-1] in "0123456789." else in_px * MM_IN_PX


def points(text: str) -> list[Place]:
    """The `points` of a polygon or polyline."""
    values = numbers(text)
    if len(values) % 2:
        raise Misread(f"{len(values)} numbers", "pairs x,y")
    return [Place(x, y) for x, y in zip(values[::2], values[1::2], strict=True)]


def transforms(text: str) -> list[tuple[str, list[Fraction]]]:
    """The functions of a `transform` attribute with their numbers, from left to right."""
    scanner = _Scanner(text)
    scanner.skip()
    found: list[tuple[str, list[Fraction]]] = []
    while not scanner.done:
        name = re.compile(r"[A-Za-z0-9]*").match(scanner.text, scanner.at)
        word = name[0] if name else ""
        if word not in _TRANSFORMS:
            scanner.fail("one of " + ", ".join(_TRANSFORMS))
        scanner.at += len(word)
        scanner.skip()
        if scanner.peek() != "(":
            scanner.fail('"("')
        close = scanner.text.find(")", scanner.at)
        if close < 0:
            scanner.fail('")"')
        values = numbers(scanner.text[scanner.at + 1 : close])
        if len(values) not in _TRANSFORMS[word]:
            wanted = " or ".join(map(str, _TRANSFORMS[word]))
            raise Misread(f"{word} with {len(values)} numbers", f"{wanted} numbers in {word}(…)")
        found.append((word, values))
        scanner.at = close + 1
        scanner.skip(_COMMA)
    return found


def path(text: str) -> list[Subpath]:
    """The subpaths of path data. Those without any segment (a lone M) are left out: they draw nothing.

    Raises `Misread`.
    """
    return [] if text.strip() == "none" else _PathReader(text).read()


class _PathReader:
    def __init__(self, text: str) -> None:
        self.scanner = _Scanner(text)
        self.subpaths: list[Subpath] = []
        self.current = self.start = Place(Fraction(0), Fraction(0))
        self.reflected: tuple[str, Place] | None = None  # the last control point, and of which kind of curve
        self.open: Subpath | None = None

    def read(self) -> list[Subpath]:
        scanner = self.scanner
        scanner.skip()
        first = True
        while not scanner.done:
            letter = scanner.peek()
            command = letter.upper()
            if command not in _ARGUMENTS or not letter.isascii():
                scanner.fail("a command, one of M L H V Z C S Q T A")
            if first and command != "M":
                scanner.fail("M, with which path data begins")
            first = False
            scanner.at += 1
            scanner.skip()
            self.run(command, letter.islower())
        return [s for s in self.subpaths if s.segments or s.closed]

    def run(self, command: str, relative: bool) -> None:
        """One command with all the sets of numbers that follow its letter."""
        scanner = self.scanner
        if command == "Z":
            self.close()
            return
        while True:
            self.draw(command, self.arguments(command), relative)
            if command == "M":  # further pairs are lines (SVG 1.1 §8.3.2)
                command = "L"
            scanner.skip()
            again = scanner.peek() == ","
            if again:
                scanner.skip(_COMMA)
            if not again and (scanner.done or scanner.peek() not in "+-.0123456789"):
                return

    def arguments(self, command: str) -> list[Fraction]:
        scanner = self.scanner
        values = []
        for i in range(_ARGUMENTS[command]):
            if i:
                scanner.skip(_COMMA)
            if command == "A" and i in (3, 4):
                values.append(Fraction(scanner.flag()))
            else:
                values.append(scanner.number(f"a number ({command} takes {_ARGUMENTS[command]})"))
        return values

    def places(self, numbers: list[Fraction], relative: bool) -> list[Place]:
        """The places of some coordinates, each pair from the current point if they are relative."""
        x, y = self.current if relative else (0, 0)
        places = [Place(x + dx, y + dy) for dx, dy in zip(numbers[::2], numbers[1::2], strict=True)]
        if any(max(abs(place.x), abs(place.y)) > LARGEST for place in places):
            self.scanner.fail(f"places nearer than {LARGEST:,}")
        return places

    def close(self) -> None:
        self.subpath().closed = True
        self.current, self.reflected, self.open = self.start, None, None

    def subpath(self) -> Subpath:
        """The subpath being drawn; after Z a new one begins at the old one's start (SVG 1.1 §8.3.3)."""
        if self.open is None:
            self.open = Subpath(self.start, [])
            self.subpaths.append(self.open)
        return self.open

    def add(self, segment: Segment, reflected: tuple[str, Place] | None = None) -> None:
        self.subpath().segments.append(segment)
        self.current, self.reflected = segment.end, reflected

    def reflection(self, kind: str) -> Place:
        """The first control point of S and T: the last one mirrored at the current point (SVG 1.1 §8.3.6)."""
        if self.reflected is None or self.reflected[0] != kind:
            return self.current
        last = self.reflected[1]
        return Place(2 * self.current.x - last.x, 2 * self.current.y - last.y)

    def draw(self, command: str, v: list[Fraction], relative: bool) -> None:
        """One command with one set of its numbers."""
        if command in "HV":
            same = Fraction(0) if relative else getattr(self.current, "y" if command == "H" else "x")
            v = [v[0], same] if command == "H" else [same, v[0]]
        *controls, end = self.places(v[5:] if command == "A" else v, relative)
        match command:
            case "M":
                self.current = self.start = end
                self.reflected, self.open = None, None
            case "L" | "H" | "V":
                self.add(LineTo(end))
            case "C" | "S":
                first = controls[0] if command == "C" else self.reflection("cubic")
                self.add(Bezier((first, controls[-1]), end), ("cubic", controls[-1]))
            case "Q" | "T":
                control = controls[0] if command == "Q" else self.reflection("quadratic")
                self.add(Bezier((control,), end), ("quadratic", control))
            case "A" if end != self.current:
                radii = (abs(v[0]), abs(v[1]))  # SVG 1.1 §F.6.2: signs of radii are dropped, a radius 0 makes a line
                self.add(LineTo(end) if 0 in radii else EllipticalArc(radii, v[2], bool(v[3]), bool(v[4]), end))
