"""The numbers a person writes, as a small syntax tree.

The grammar is that of the document format (SPECIFICATION, section 1): decimal literals kept exactly as written (``0.1``
is 1/10), ``+ - * /``, parentheses, ``sqrt(...)`` and ``cos``, ``sin``, ``tan`` of a rational multiple of ``pi``,
without blanks (space, tab, newline). It is read by recursive descent with a declared depth, never evaluated as code.

A tree does not prove that the number exists: a divisor or a radicand that is rational by the four operations alone is
checked here, any other when the field is built (:func:`verify.exact.field.read_numbers`).
"""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from operator import add, mul, sub, truediv
from typing import Literal as Choice
from typing import NamedTuple, cast

from verify.errors import CreaseproofError

FunctionName = Choice["cos", "sin", "tan"]
Operator = Choice["+", "-", "*", "/"]

_VALUE = {"+": add, "-": sub, "*": mul, "/": truediv}
_DIGITS = frozenset("0123456789")
_LITERAL = re.compile("([0-9]+)(?:[.]([0-9]+))?(?:[eE]([+-]?[0-9]+))?")
_LETTERS = re.compile("[a-zA-Z]+")
_FUNCTIONS = ("sqrt", "cos", "sin", "tan")
_TRIGONOMETRIC: dict[str, FunctionName] = {"cos": "cos", "sin": "sin", "tan": "tan"}
_AN_OPERAND = 'a number, "(" or a function (sqrt, cos, sin, tan)'
_AN_ANGLE_OPERAND = 'a number, "pi" or "("'
_AN_ANGLE = "a rational multiple of pi, such as pi/5 or 2*pi/5"


@dataclass(frozen=True)
class NumberLimits:
    """Declared limits on the numbers of one document.

    digits: decimal digits in one literal. characters: length of one expression without blanks. depth: nesting of
    parentheses (a function's count too). exponent: absolute value of the exponent of a literal. denominator_of_angle: q
    in an angle (p/q)*pi in lowest terms. degree: degree over Q of the field that holds all the numbers. bits: size of a
    numerator or denominator that comes up while an expression is evaluated.
    """

    digits: int = 1000
    characters: int = 4000
    depth: int = 50
    exponent: int = 1000
    denominator_of_angle: int = 1000
    degree: int = 32
    bits: int = 20_000


DEFAULT_LIMITS = NumberLimits()


class ExpressionError(CreaseproofError, ValueError):
    """A text that is not a number of the grammar, or has no real value.

    Attributes: ``text`` as it was given, ``position`` (0-based, in that text) of the offence,
    ``found`` and ``expected`` in words. The message counts characters from 1.
    """

    def __init__(self, text: str, position: int, found: str, expected: str) -> None:
        self.text = text
        self.position = position
        self.found = found
        self.expected = expected
        super().__init__(f"at character {position + 1}: found {found}, expected {expected}")


class NumberLimitReached(CreaseproofError):
    """A declared limit was reached before the numbers were known: undecided, not wrong."""


class DegreeLimit(NumberLimitReached):
    """The field of all numbers would have a `degree` above the declared `limit`, because of the sub-`expression`."""

    def __init__(self, expression: str, degree: int, limit: int) -> None:
        self.expression = expression
        self.degree = degree
        self.limit = limit
        super().__init__(f"{shortened(expression)} needs a number field of degree {degree}; the limit is {limit}")


class SizeLimit(NumberLimitReached):
    """A value has more bits than the declared limit. Attributes ``expression`` and ``limit``."""

    def __init__(self, expression: str, limit: int) -> None:
        self.expression = expression
        self.limit = limit
        super().__init__(f"{shortened(expression)} has a value of more than {limit} bits")


def shortened(text: str, length: int = 60) -> str:
    """The text, or its beginning and end when it is longer than `length`: for messages."""
    if len(text) <= length:
        return text
    half = (length - 3) // 2
    return f"{text[:half]}...{text[-half:]}"


class Literal(NamedTuple):
    """A decimal literal; its value is ``rational``."""

    text: str
    position: int
    rational: Fraction


class Sum(NamedTuple):
    """Terms, each with the sign before it."""

    text: str
    position: int
    rational: Fraction | None
    terms: tuple[tuple[Operator, Expression], ...]


class Product(NamedTuple):
    """Two or more factors, each with ``*`` or ``/`` before it (the first has ``*``), from left to right."""

    text: str
    position: int
    rational: Fraction | None
    factors: tuple[tuple[Operator, Expression], ...]


class SquareRoot(NamedTuple):
    """The square root that is not negative."""

    text: str
    position: int
    argument: Expression
    rational: None = None


class Trigonometric(NamedTuple):
    """``cos``, ``sin`` or ``tan`` of ``turn`` * pi (``turn`` is a rational number in lowest terms)."""

    text: str
    position: int
    function: FunctionName
    turn: Fraction
    rational: None = None


class Pi(NamedTuple):
    """``pi``, in an angle; no tree of a number has it."""

    text: str
    position: int
    rational: None = None


Expression = Literal | Sum | Product | SquareRoot | Trigonometric | Pi
"""A node of the tree.

``text``: the characters of this node, without blanks. ``position``: where it begins, 0-based,
in the text as given. ``rational``: its exact value if that is known from literals and the
four operations alone, else None (``sqrt(4)`` is None here).
"""


def parse(
    text: str, limits: NumberLimits = DEFAULT_LIMITS, irrational: list[SquareRoot | Trigonometric] | None = None
) -> Expression:
    """The tree of an expression; its roots and its values at angles are put on the list `irrational`, if one is given,
    an inner one before the one that holds it.

    Exact; no text is evaluated as code. Raises ExpressionError for a text outside the grammar or
    past its limits, for a division by a rational 0, for the root of a rational below 0 and for
    the tangent of a right angle; SizeLimit if a rational value grows past ``limits.bits``.

    >>> parse("1/3 + sqrt(5)/4").text
    '1/3+sqrt(5)/4'
    """
    try:
        return _Parser(text, limits, [] if irrational is None else irrational).whole()
    except ExpressionError as error:
        raise error.with_traceback(None) from None  # three calls a parenthesis: too many to be pickled with it


class _Parser:
    def __init__(self, text: str, limits: NumberLimits, irrational: list[SquareRoot | Trigonometric]) -> None:
        self.given = text
        self.limits = limits
        self.irrational = irrational
        source = text.replace(" ", "").replace("\t", "").replace("\n", "")
        self.source, self.end = source + "\0", len(source)  # the last character is in no number
        self.places: Sequence[int] = range(len(text) + 1)  # where each character, and the end, is in the text as given
        if self.end < len(text):
            self.places = [i for i, character in enumerate(text) if character not in " \t\n"] + [len(text)]
        self.at = 0
        self.depth = 0
        self.in_angle = False
        if self.end > limits.characters:
            raise self.error(f"{self.end} characters", f"at most {limits.characters}", limits.characters)

    # places and messages

    def error(self, found: str, expected: str, at: int | None = None) -> ExpressionError:
        return ExpressionError(self.given, self.places[self.at if at is None else at], found, expected)

    def quoted(self, at: int) -> str:
        if at >= self.end:
            return "the end"
        return f'"{shortened(self.word(at) or self.source[at])}"'

    def unexpected(self, expected: str) -> ExpressionError:
        return self.error(self.quoted(self.at), expected)

    def take(self, character: str, expected: str | None = None) -> None:
        if self.source[self.at] != character:
            raise self.unexpected(expected or f'"{character}"')
        self.at += 1

    def word(self, at: int) -> str:
        found = _LETTERS.match(self.source, at)
        return found[0] if found else ""

    def open(self) -> None:
        if self.depth >= self.limits.depth:
            raise self.error(f"parentheses nested {self.depth + 1} deep", f"at most {self.limits.depth}")
        self.take("(")
        self.depth += 1

    def close(self) -> None:
        self.take(")", '")" or an operator (+, -, *, /)')
        self.depth -= 1

    def check_size(self, value: Fraction | None, start: int) -> None:
        if value is not None and max(value.numerator.bit_length(), value.denominator.bit_length()) > self.limits.bits:
            raise SizeLimit(self.source[start : self.at], self.limits.bits)

    # the grammar

    def whole(self) -> Expression:
        result = self.expression()
        if self.at < self.end:
            comma = self.source[self.at] == ","
            raise self.unexpected("a decimal point" if comma else "an operator (+, -, *, /) or the end")
        return result

    def expression(self) -> Expression:
        return self.chain("+-", self.term, Sum)

    def term(self) -> Expression:
        return self.chain("*/", self.factor, Product)

    def chain(self, operators: str, operand: Callable[[], Expression], kind: type[Sum | Product]) -> Expression:
        """One operand alone, or several with operators between them."""
        start = self.at
        first = operand()
        if self.source[self.at] not in operators:
            return first
        parts, value = [(cast(Operator, operators[0]), first)], first.rational
        while self.source[self.at] in operators:
            operator, begin = cast(Operator, self.source[self.at]), self.at + 1
            self.at = begin
            part = operand()
            parts.append((operator, part))
            if operator == "/" and part.rational == 0:
                expected = "a rational divisor other than 0" if self.in_angle else "a divisor other than 0"
                raise self.error(f'"{shortened(part.text)}", which is 0', expected, begin)
            if value is not None:
                value = None if part.rational is None else _VALUE[operator](value, part.rational)
                self.check_size(value, start)
        return kind(self.source[start : self.at], self.places[start], value, tuple(parts))

    def factor(self) -> Expression:
        start = self.at
        negative = False
        while self.source[self.at] in "+-":
            negative ^= self.source[self.at] == "-"
            self.at += 1
        atom = self.atom()
        text = self.source[start : self.at]
        if text == atom.text:
            return atom
        value = atom.rational
        if negative and value is not None:
            value = -value
        return Sum(text, self.places[start], value, (("-" if negative else "+", atom),))

    def atom(self) -> Expression:
        start = self.at
        if self.source[self.at] in _DIGITS:
            value = self.literal()
            return Literal(self.source[start : self.at], self.places[start], value)
        if self.source[self.at] == "(":
            self.open()
            inside = self.expression()
            self.close()
            text = self.source[start : self.at]
            return Sum(text, self.places[start], inside.rational, (("+", inside),))
        name = self.word(self.at)
        if self.in_angle:
            return self.pi(name)
        if name == "sqrt":
            return self.root(start)
        if name in _TRIGONOMETRIC:
            return self.trigonometric(_TRIGONOMETRIC[name], start)
        if name == "pi":
            raise self.error('"pi"', f"{_AN_OPERAND}; pi stands only inside cos, sin and tan")
        raise self.unexpected(_AN_OPERAND)

    def root(self, start: int) -> Expression:
        self.at += len("sqrt")
        self.open()
        inside = self.at
        argument = self.expression()
        self.close()
        if argument.rational is not None and argument.rational < 0:
            raise self.error(
                f'"{shortened(argument.text)}", which is below 0',
                "a number that is not negative under the root",
                inside,
            )
        root = SquareRoot(self.source[start : self.at], self.places[start], argument)
        self.irrational.append(root)
        return root

    def trigonometric(self, name: FunctionName, start: int) -> Expression:
        self.at += len(name)
        self.open()
        inside = self.at
        self.in_angle = True
        angle = self.expression()
        self.in_angle = False
        rest, turn = self.linear(angle)
        for part in (rest, turn):
            self.check_size(part, inside)
        self.close()
        if rest:
            raise self.error(f'"{shortened(angle.text)}"', _AN_ANGLE, inside)
        if turn.denominator > self.limits.denominator_of_angle:
            raise self.error(
                f'"{shortened(angle.text)}", which is pi*{shortened(str(turn))}',
                f"a denominator of at most {self.limits.denominator_of_angle}",
                inside,
            )
        whole = self.source[start : self.at]
        if name == "tan" and turn.denominator == 2:
            raise self.error(f'"{shortened(whole)}"', "an angle that has a tangent", start)
        value = Trigonometric(whole, self.places[start], name, turn)
        self.irrational.append(value)
        return value

    def literal(self) -> Fraction:
        start = self.at
        found = _LITERAL.match(self.source, start)
        if found is None:
            raise self.unexpected("a digit")
        self.at = found.end()
        whole, part, power = found.groups()
        after = self.source[self.at]
        if power is None and (after in "eE" or (part is None and after == ".")):
            self.at += 1 if after == "." or self.source[self.at + 1] not in "+-" else 2
            raise self.unexpected("a digit")
        count = sum(map(str.isdigit, found[0])) if len(found[0]) > self.limits.digits else 0
        if count > self.limits.digits:
            raise self.error(f"a number of {count} digits", f"at most {self.limits.digits} digits", start)
        if part is None and power is None:
            return Fraction(int(whole))
        exponent = int(power or "0")
        if abs(exponent) > self.limits.exponent:
            raise self.error(
                f'"{shortened(self.source[start : self.at])}"',
                f"an exponent between -{self.limits.exponent} and {self.limits.exponent}",
                start,
            )
        digits = whole + (part or "")
        exponent -= len(digits) - len(whole)
        value = int(digits)
        return Fraction(value * 10**exponent) if exponent >= 0 else Fraction(value, 10**-exponent)

    # angles

    def pi(self, word: str) -> Expression:
        if word in _FUNCTIONS:
            raise self.error(self.quoted(self.at), f"{_AN_ANGLE_OPERAND}: the angle must be {_AN_ANGLE}")
        if word != "pi":
            raise self.unexpected(_AN_ANGLE_OPERAND)
        self.at += len(word)
        return Pi(word, self.places[self.at - len(word)])

    def linear(self, node: Expression) -> tuple[Fraction, Fraction]:
        """a and b of an angle a + b*pi."""
        if node.rational is not None:
            return node.rational, Fraction(0)
        if isinstance(node, Pi):
            return Fraction(0), Fraction(1)
        if isinstance(node, Sum):
            a = b = Fraction(0)
            for sign, term in node.terms:
                rest, turns = self.linear(term)
                a, b = (a - rest, b - turns) if sign == "-" else (a + rest, b + turns)
            return a, b
        if not isinstance(node, Product):
            raise TypeError(f"{type(node).__name__} is no part of an angle")
        a, b = Fraction(1), Fraction(0)
        for operator, factor in node.factors:
            rest, turns = self.linear(factor)
            if operator == "/" and (turns or not rest):
                found = f'"{shortened(factor.text)}"'
                raise ExpressionError(self.given, factor.position, found, "a rational divisor other than 0")
            if b and turns:
                raise ExpressionError(self.given, node.position, f'"{shortened(node.text)}"', _AN_ANGLE)
            share = 1 / rest if operator == "/" else rest
            a, b = a * share, a * turns + b * share
        return a, b
