"""One number field for all the numbers of a document, with what a checker cannot find by arithmetic.

`read_numbers` builds it, and gives roots, cosines, tangents and reciprocals in it. All cosines and tangents come first:
they generate a real subfield of a cyclotomic field, found by its Galois group (``cyclotomic.py``). Then the square
roots, from the inside out, where the field does not hold them (``tower.py``).
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from fractions import Fraction
from math import gcd
from typing import Literal as Choice
from typing import NamedTuple

from verify.exact import cyclotomic
from verify.exact.algebraic import element
from verify.exact.expression import (
    DEFAULT_LIMITS,
    DegreeLimit,
    Expression,
    ExpressionError,
    NumberLimits,
    Product,
    SizeLimit,
    SquareRoot,
    Sum,
    Trigonometric,
    parse,
    shortened,
)
from verify.exact.number import Number, bits
from verify.exact.numberfield import Field
from verify.exact.tower import Base, Tower


class NumbersRead(NamedTuple):
    """All numbers of a document in one field.

    ``tower``: the field, RATIONALS if every value is rational, and how it was built. ``numbers``: for each text as
    given its value. ``values``: the witnesses that a checker of a certificate needs for these texts (SPECIFICATION,
    section 3), by the canonical text of the sub-expression. That a value stands here does not prove it: the checker
    verifies each one by its defining equation.
    """

    tower: Tower
    numbers: dict[str, Number]
    values: dict[str, Number]

    @property
    def field(self) -> Field:
        return self.tower.field


def read_numbers(texts: Iterable[str], limits: NumberLimits = DEFAULT_LIMITS) -> NumbersRead:
    """Read numbers of the documents' grammar exactly, all into one field.

    Raises ExpressionError for the first text (in the order given) that is not a number: outside the grammar, a
    division by 0, the root of a number below 0. Raises DegreeLimit if the field would have a
    degree above ``limits.degree`` and SizeLimit if a value grows past ``limits.bits``; neither
    says that the text is wrong.

    >>> reading = read_numbers(["1/3", "(1+sqrt(5))/4"])
    >>> reading.field.name, str(reading.numbers["(1+sqrt(5))/4"]), list(reading.values)
    ('sqrt(5)', '1/4+1/4*sqrt(5)', ['sqrt(5)'])
    """
    irrational: dict[str, list[SquareRoot | Trigonometric]] = {text: [] for text in texts}
    trees = {text: parse(text, limits, parts) for text, parts in irrational.items()}
    rational = {text: tree.rational for text, tree in trees.items()}
    if all(value is not None for value in rational.values()):
        numbers = {text: Number.of(value) for text, value in rational.items() if value is not None}
        return NumbersRead(Base(None), numbers, {})
    builder = _Builder(limits)
    builder.adjoin_angles([node for parts in irrational.values() for node in parts if isinstance(node, Trigonometric)])
    for text, parts in irrational.items():
        for node in parts:
            if isinstance(node, SquareRoot):
                builder.adjoin_root(text, node)
    numbers = {text: builder.value(text, tree, record=True) for text, tree in trees.items()}
    for text, value in numbers.items():
        if value.field is not builder.field:
            numbers[text] = element(builder.field, (value.as_fraction(),))
    return NumbersRead(builder.tower, numbers, builder.values)


# angles


Angle = tuple[Choice["cos", "tan"], int, int]
"""cos(p*pi/q), with 0 <= p/q <= 1/2, or tan(p*pi/q), with 0 <= p/q < 1, in lowest terms."""

_RATIONAL: dict[Angle, Number] = {
    ("cos", 0, 1): Number.of(1),
    ("cos", 1, 2): Number.of(0),
    ("cos", 1, 3): Number.of(Fraction(1, 2)),
    ("tan", 0, 1): Number.of(0),
    ("tan", 1, 4): Number.of(1),
    ("tan", 3, 4): Number.of(-1),
}


def _angle_of(node: Trigonometric) -> tuple[int, Angle]:
    """The value as a sign and a cosine or a tangent."""
    p, q = node.turn.numerator, node.turn.denominator
    if node.function == "tan":
        return 1, ("tan", p % q, q)
    if node.function == "sin":  # sin x = cos(pi/2 - x)
        p, q = q - 2 * p, 2 * q
        common = gcd(p, q)
        p, q = p // common, q // common
    p %= 2 * q
    p = min(p, 2 * q - p)
    return (-1, ("cos", q - p, q)) if 2 * p > q else (1, ("cos", p, q))


def _witnesses(angle: Angle) -> list[Angle]:
    """The cosines and tangents that are needed for an irrational value: the unit ones, and the value itself."""
    name, p, q = angle
    if name == "cos":
        return [("cos", 1, q), angle]
    double, other = q // gcd(2, q), 2 * q // gcd(q - 4 * p, 2 * q)  # the denominators of 2x and pi/2 - 2x
    return [angle, *[("cos", 1, unit) for unit in (double, other) if unit > 3]]


# the numbers of a document


class _Builder:
    def __init__(self, limits: NumberLimits) -> None:
        self.limits = limits
        self.tower: Tower = Base(None)
        self.angles: cyclotomic.RealCyclotomic | None = None
        self.angle_of: dict[str, tuple[int, Angle]] = {}
        self.trigonometric: dict[Angle, Number] = {}
        self.roots: dict[str, Number] = {}
        self.values: dict[str, Number] = {}
        self.recorded: set[Angle] = set()
        self.known: dict[str, Number] = {}  # sums, in the final field

    @property
    def field(self) -> Field:
        return self.tower.field

    def adjoin_angles(self, nodes: Sequence[Trigonometric]) -> None:
        """Start with the field of all cosines, sines and tangents."""
        generators: list[cyclotomic.Generator] = []
        angles: dict[Angle, Trigonometric] = {}
        for node in nodes:
            if node.text not in self.angle_of:
                _, angle = self.angle_of[node.text] = _angle_of(node)
                if angle not in _RATIONAL:
                    angles.setdefault(angle, node)
        for angle, node in angles.items():
            generator = angle[0], angle[2]
            if any(order % cyclotomic.order_for(generator) == 0 for order in map(cyclotomic.order_for, generators)):
                continue
            degree = cyclotomic.totient(cyclotomic.order_for(generator)) // 2
            if degree <= self.limits.degree:
                generators.append(generator)
                self.angles = cyclotomic.RealCyclotomic(generators)
                degree = self.angles.degree
            if degree > self.limits.degree:
                raise DegreeLimit(node.text, degree, self.limits.degree)
        if self.angles is None:
            return
        self.angles.build()
        self.tower = Base(self.angles)
        for name, p, q in dict.fromkeys(witness for angle in angles for witness in _witnesses(angle)):
            vector = cyclotomic.cosine if name == "cos" else cyclotomic.tangent
            self.trigonometric[name, p, q] = self.angles.coordinates(vector(self.angles.n, Fraction(p, q)))

    def adjoin_root(self, text: str, node: SquareRoot) -> None:
        """The root >= 0 of a number whose own roots are known, in the field, which grows if it must."""
        if node.argument.text in self.roots:
            return
        x = self.value(text, node.argument, record=False)
        if x.sign() < 0:
            raise ExpressionError(
                text,
                node.argument.position,
                f'"{shortened(node.argument.text)}", which is below 0 ({x.decimal(6)})',
                "a number that is not negative under the root",
            )
        level, root = self.tower.with_root(x, node.text, self.limits.degree)
        if level is not None:
            self.tower = level
            self.trigonometric = {key: level.up(value) for key, value in self.trigonometric.items()}
            self.roots = {key: level.up(value) for key, value in self.roots.items()}
        self.roots[node.argument.text] = root

    def value(self, text: str, node: Expression, record: bool) -> Number:
        """The value of a node; with `record` the witnesses are collected, in the final field."""
        if node.rational is not None:
            return Number.of(node.rational)
        if record and node.text in self.known:
            return self.known[node.text]
        result: Number
        if isinstance(node, Sum):
            first, term = node.terms[0]
            result = self.value(text, term, record)
            if first == "-":
                result = -result
            for sign, term in node.terms[1:]:
                other = self.value(text, term, record)
                result = result + other if sign == "+" else result - other
                self.bounded(result, node)
            if record:
                self.known[node.text] = result
            return result
        if isinstance(node, Product):
            result = self.value(text, node.factors[0][1], record)
            for operator, factor in node.factors[1:]:
                other = self.value(text, factor, record)
                result = result * (self.reciprocal(text, factor, other, record) if operator == "/" else other)
                self.bounded(result, node)
            return result
        if isinstance(node, SquareRoot):
            if record:
                self.value(text, node.argument, record)
                self.values[f"sqrt({node.argument.text})"] = self.roots[node.argument.text]
            return self.roots[node.argument.text]
        if isinstance(node, Trigonometric):
            return self.trigonometric_value(node, record)
        raise TypeError(f"{type(node).__name__} is no node of an expression")

    def reciprocal(self, text: str, factor: Expression, divisor: Number, record: bool) -> Number:
        if not divisor:
            raise ExpressionError(
                text, factor.position, f'"{shortened(factor.text)}", which is 0', "a divisor other than 0"
            )
        inverse = 1 / divisor
        if record and not divisor.is_rational:
            self.values[f"1/({factor.text})"] = inverse
        return inverse

    def trigonometric_value(self, node: Trigonometric, record: bool) -> Number:
        sign, angle = self.angle_of[node.text]
        if angle in _RATIONAL:
            return _RATIONAL[angle] * sign
        value = self.trigonometric[angle]
        if record and angle not in self.recorded:
            self.recorded.add(angle)
            for name, p, q in _witnesses(angle):
                if name == "cos" and p == 1:
                    self.values[f"cos(pi/{q})"] = self.trigonometric["cos", 1, q]
            if angle[0] == "tan":  # sin 2x / (1 + cos 2x), and 1 / (1 + cos 2x) = (1 + tan^2 x) / 2
                inverse = (value * value + 1) / 2
                if not inverse.is_rational:
                    self.values[f"1/(1+cos(pi*{Fraction(2 * angle[1], angle[2])}))"] = inverse
        return value if sign > 0 else -value

    def bounded(self, number: Number, node: Expression) -> None:
        if bits(number) > self.limits.bits:
            raise SizeLimit(node.text, self.limits.bits)
