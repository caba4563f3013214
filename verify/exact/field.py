"""One number field that holds all the numbers of a document.

`read_numbers` parses the texts, builds Q(alpha), and writes every number in it, together with the
values that a checker cannot get by arithmetic (roots, cosines, tangents, reciprocals).

How the field is built. All cosines and tangents first: they generate a real subfield of a
cyclotomic field, found by its Galois group (``cyclotomic.py``). Then the square roots, from the
inside out, where the field does not hold them (``tower.py``).
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction

from verify.exact import cyclotomic
from verify.exact.algebraic import element
from verify.exact.expression import (
    DEFAULT_LIMITS,
    DegreeLimit,
    Expression,
    ExpressionError,
    Negative,
    NumberLimits,
    Product,
    SizeLimit,
    SquareRoot,
    Sum,
    Trigonometric,
    parse,
    shortened,
    walk,
)
from verify.exact.number import Number
from verify.exact.numberfield import Field
from verify.exact.tower import Base, Tower


@dataclass(frozen=True)
class Reading:
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


def read_numbers(texts: Iterable[str], limits: NumberLimits = DEFAULT_LIMITS) -> Reading:
    """Read numbers of the documents' grammar exactly, all into one field.

    Raises ExpressionError for the first text (in the order given) that is not a number: outside the grammar, a
    division by 0, the root of a number below 0. Raises DegreeLimit if the field would have a
    degree above ``limits.degree`` and SizeLimit if a value grows past ``limits.bits``; neither
    says that the text is wrong.

    >>> reading = read_numbers(["1/3", "(1+sqrt(5))/4"])
    >>> reading.field.name, str(reading.numbers["(1+sqrt(5))/4"]), list(reading.values)
    ('sqrt(5)', '1/4+1/4*sqrt(5)', ['sqrt(5)'])
    """
    trees = {text: parse(text, limits) for text in dict.fromkeys(texts)}
    rational = {text: tree.rational for text, tree in trees.items()}
    if all(value is not None for value in rational.values()):
        numbers = {text: Number.of(value) for text, value in rational.items() if value is not None}
        return Reading(Base(None), numbers, {})
    builder = _Builder(limits)
    builder.adjoin_angles(trees.values())
    for text, tree in trees.items():
        builder.adjoin_roots(text, tree)
    numbers = {text: builder.value(text, tree, record=True) for text, tree in trees.items()}
    return Reading(builder.tower, numbers, dict(builder.values))


# angles


def _turn_of_cosine(node: Trigonometric) -> Fraction:
    """r with cos(r pi) the value, for a cosine or a sine."""
    return node.turn if node.function == "cos" else Fraction(1, 2) - node.turn


def _angle_text(turn: Fraction) -> str:
    numerator = "" if turn.numerator == 1 else f"*{turn.numerator}"
    return f"pi{numerator}/{turn.denominator}"


def _rational_cosine(turn: Fraction) -> Fraction:
    """cos(turn * pi) for a denominator of at most 3."""
    turn = turn % 2
    if turn > 1:
        turn = 2 - turn
    if turn.denominator == 1:
        return Fraction(1 if turn == 0 else -1)
    if turn.denominator == 2:
        return Fraction(0)
    return Fraction(1, 2) if turn.numerator == 1 else Fraction(-1, 2)


def _generator_of(node: Trigonometric) -> cyclotomic.Generator | None:
    if node.function == "tan":
        q = node.turn.denominator
        return ("tan", q) if q not in (1, 4) else None
    q = _turn_of_cosine(node).denominator
    return ("cos", q) if q > 3 else None


# the numbers of a document


class _Builder:
    def __init__(self, limits: NumberLimits) -> None:
        self.limits = limits
        self.tower: Tower = Base(None)
        self.angles: cyclotomic.RealCyclotomic | None = None
        self.trigonometric: dict[tuple[str, Fraction], Number] = {}
        self.roots: dict[str, Number] = {}
        self.values: dict[str, Number] = {}

    @property
    def field(self) -> Field:
        return self.tower.field

    def adjoin_angles(self, trees: Iterable[Expression]) -> None:
        """Start with the field of all cosines, sines and tangents."""
        nodes: list[Trigonometric] = []

        def collect(node: Expression) -> None:
            if isinstance(node, Trigonometric):
                nodes.append(node)

        for tree in trees:
            walk(tree, collect)
        generators: list[cyclotomic.Generator] = []
        for node in nodes:
            generator = _generator_of(node)
            if generator is None or generator in generators:
                continue
            degree = cyclotomic.degree_of(generator)
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
        for node in nodes:
            for name, turn in _witnesses(node):
                if (name, turn) not in self.trigonometric:
                    vector = cyclotomic.cosine if name == "cos" else cyclotomic.tangent
                    self.trigonometric[name, turn] = self.angles.coordinates(vector(self.angles.n, turn))

    def adjoin_roots(self, text: str, tree: Expression) -> None:
        """Adjoin the square roots of one expression, from the inside out."""

        def adjoin(node: Expression) -> None:
            if isinstance(node, SquareRoot) and node.argument.text not in self.roots:
                x = self.value(text, node.argument, record=False)
                if x.sign() < 0:
                    raise ExpressionError(
                        text,
                        node.argument.position,
                        f'"{shortened(node.argument.text)}", which is below 0 ({x.decimal(6)})',
                        "a number that is not negative under the root",
                    )
                self.roots[node.argument.text] = self.square_root(node, x)

        walk(tree, adjoin)

    def square_root(self, node: SquareRoot, x: Number) -> Number:
        """The root >= 0 of x, in the field, which grows if it must."""
        level, root = self.tower.with_root(x, node.text, self.limits.degree)
        if level is not None:
            self.tower = level
            self.trigonometric = {key: level.up(value) for key, value in self.trigonometric.items()}
            self.roots = {key: level.up(value) for key, value in self.roots.items()}
        return root

    def value(self, text: str, node: Expression, record: bool) -> Number:
        """The value of a node; with `record` the witnesses are collected, in the final field."""
        if node.rational is not None:
            return element(self.field, (node.rational,))
        result: Number
        if isinstance(node, Negative):
            return -self.value(text, node.operand, record)
        if isinstance(node, Sum):
            result = self.value(text, node.terms[0][1], record)
            for sign, term in node.terms[1:]:
                other = self.value(text, term, record)
                result = result + other if sign == "+" else result - other
                self.bounded(result, node)
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
        if node.function == "tan":
            turn = node.turn % 1
            if turn.denominator == 1:
                return element(self.field, (0,))
            if turn.denominator == 4:
                return element(self.field, (1 if turn.numerator == 1 else -1,))
        else:
            turn = _turn_of_cosine(node)
            if turn.denominator <= 3:
                return element(self.field, (_rational_cosine(turn),))
        if record:
            for name, witness in _witnesses(node):
                if name == "cos" and witness.numerator == 1:
                    self.values[f"cos({_angle_text(witness)})"] = self.trigonometric[name, witness]
            if node.function == "tan":  # sin 2x / (1 + cos 2x), and 1 / (1 + cos 2x) = (1 + tan^2 x) / 2
                tangent = self.trigonometric["tan", turn]
                inverse = (tangent * tangent + 1) / 2
                if not inverse.is_rational:
                    self.values[f"1/(1+cos(pi*{2 * turn}))"] = inverse
        return self.trigonometric["tan" if node.function == "tan" else "cos", turn]

    def bounded(self, number: Number, node: Expression) -> None:
        numerators, denominator = number.integers()
        if max(denominator.bit_length(), *[abs(c).bit_length() for c in numerators]) > self.limits.bits:
            raise SizeLimit(node.text, self.limits.bits)


def _witnesses(node: Trigonometric) -> list[tuple[str, Fraction]]:
    """The angles (turns) whose cosine or tangent is needed for the value: the unit ones, and the value's own."""
    if _generator_of(node) is None:
        return []
    if node.function == "tan":
        turn = node.turn % 1
        units = (2 * turn).denominator, (Fraction(1, 2) - 2 * turn).denominator
        return [("tan", turn), *[("cos", Fraction(1, q)) for q in units if q > 3]]
    turn = _turn_of_cosine(node)
    return [("cos", Fraction(1, turn.denominator)), ("cos", turn)]
