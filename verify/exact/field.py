"""One number field that holds all the numbers of a document.

`read_numbers` parses the texts, builds Q(alpha), and writes every number in it, together with the
values that a checker cannot get by arithmetic (roots, cosines, tangents, reciprocals).

How the field is built. All cosines and tangents first: they generate a real subfield of a
cyclotomic field, found by its Galois group (``cyclotomic.py``). Then the square roots, from the
inside out. Whether an element x of the field K reached so far is a square in K is decided exactly:
"no" by a prime of degree one at which x is no quadratic residue, or by descent through the tower of
square roots; "yes" by an element s with s*s = x. Only if x is no square does K grow, to
K(sqrt(x)), whose degree is then exactly twice as large. So the defining polynomial is irreducible
by construction. Approximations are rigorous enclosures and only say which real root alpha is.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import isqrt

from verify.exact import cyclotomic
from verify.exact import polynomial as poly
from verify.exact.expression import (
    DEFAULT_LIMITS,
    DegreeLimit,
    Expression,
    ExpressionError,
    Limits,
    Negative,
    Product,
    SizeLimit,
    SquareRoot,
    Sum,
    Trigonometric,
    parse,
    shortened,
    walk,
)
from verify.exact.number import RATIONALS, Field, Number, square_root_of_square


@dataclass(frozen=True)
class Reading:
    """All numbers of a document in one field.

    ``field``: the field, RATIONALS if every value is rational. ``numbers``: for each text as given its
    value. ``values``: the witnesses that a checker of a certificate needs for these texts
    (SPECIFICATION, section 3), by the canonical text of the sub-expression. That a value stands here does
    not prove it: the checker verifies each one by its defining equation.
    """

    field: Field
    numbers: dict[str, Number]
    values: dict[str, Number]


def read_numbers(texts: Iterable[str], limits: Limits = DEFAULT_LIMITS) -> Reading:
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
        return Reading(RATIONALS, numbers, {})
    builder = _Builder(limits)
    builder.adjoin_angles(trees.values())
    for text, tree in trees.items():
        builder.adjoin_roots(text, tree)
    numbers = {text: builder.value(text, tree, record=True) for text, tree in trees.items()}
    return Reading(builder.field, numbers, dict(builder.values))


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


# towers of square roots


class _Base:
    """The bottom of a tower: the rationals, or a field of cosines and tangents."""

    def __init__(self, angles: cyclotomic.RealCyclotomic | None) -> None:
        self.angles = angles
        self.field: Field = RATIONALS if angles is None else angles.field
        self.residues = _Residues(self.field)

    def root(self, x: Number) -> Number | None:
        """Some s in the field with s*s = x, or None if there is none. Exact."""
        sign = x.sign()
        if sign <= 0:
            return x if sign == 0 else None
        if x.is_rational:
            return self._root_of_rational(x.as_fraction())
        if not self.residues.may_be_square(x):
            return None
        if self.field.degree == 2:
            return self._root_in_quadratic(x)
        return _root_by_factors(self.field, x)

    def _root_of_rational(self, x: Fraction) -> Number | None:
        root = square_root_of_square(x)
        if root is not None or self.angles is None:
            return None if root is None else self.field.element((root,))
        s, f = poly.square_part(x.numerator * x.denominator)
        # a root in Q(z) needs a squarefree part that divides N; then trial division has found it exactly
        vector = cyclotomic.square_root(self.angles.n, f)
        if vector is None or not self.angles.contains_root(f):
            return None
        number = self.angles.coordinates(vector) * Fraction(s, x.denominator)
        return _checked(abs(number), x)

    def _root_in_quadratic(self, x: Number) -> Number | None:
        """In Q(sqrt(f)): s = a + b sqrt(f) has a^2 = (u +- n)/2 with n^2 the norm of x = u + v sqrt(f), v not 0."""
        u, v = x.coefficients()
        f = -self.field.polynomial[0]
        norm = square_root_of_square(u * u - v * v * f)
        if norm is None:
            return None
        for half in ((u + norm) / 2, (u - norm) / 2):
            a = square_root_of_square(half)
            if a:
                return _checked(self.field.element((a, v / (2 * a))), x)
        return None


class _Level:
    """K(y) with y*y = z in K, y > 0, z no square in K: the field, and the ways up and down."""

    def __init__(self, below: _Base | _Level, z: Number, text: str) -> None:
        self.below = below
        self.z = z
        self.field: Field
        k, charpoly = _best_shift(below.field, z)
        self.field = Field(charpoly, _root_of_shift(charpoly, below.field, z, k), _name_of_shift(below.field, k, text))
        # the powers of theta = y + k alpha as pairs u + v y, u and v in K
        alpha = below.field.generator()
        one, zero = below.field.element((1,)), below.field.element((0,))
        self.down_powers = [(one, zero)]
        for _ in range(1, self.field.degree):
            u, v = self.down_powers[-1]
            self.down_powers.append((u * alpha * k + v * z, u + v * alpha * k))
        self.up_alpha, self.y = self._images(k, charpoly)
        powers = [self.field.element((1,))]
        for _ in range(1, below.field.degree):
            powers.append(powers[-1] * self.up_alpha)
        self.up_powers = powers
        _checked(self.y, self.up(z))
        if self.y.sign() <= 0:
            raise ArithmeticError("a square root that came out negative")
        self.residues = _Residues(self.field)

    def _images(self, k: int, charpoly: tuple[int, ...]) -> tuple[Number, Number]:
        """alpha and y in the new field (rational univariate representation, by traces)."""
        field = self.field
        if self.below.field.degree == 1:
            return field.element((0,)), field.generator()
        d = field.degree
        alpha = self.below.field.generator()
        horner: list[list[int]] = [[1]]
        for j in range(1, d):
            horner.append([charpoly[d - j], *horner[-1]])
        total = [Fraction(0)] * d
        for i, (u, _) in enumerate(self.down_powers):
            t = 2 * _trace(u * alpha)
            for m, c in enumerate(horner[d - 1 - i]):
                total[m] += t * c
        image = field.element(total) / field.element(list(poly.derivative(charpoly)))
        return image, field.generator() - image * k

    def up(self, x: Number) -> Number:
        """An element of K, in K(y)."""
        total = self.field.element((0,))
        for c, power in zip(x.coefficients(), self.up_powers, strict=False):
            if c:
                total = total + power * c
        return total

    def down(self, x: Number) -> tuple[Number, Number]:
        """(u, v) in K with x = u + v y."""
        u = v = self.below.field.element((0,))
        for c, (s, t) in zip(x.coefficients(), self.down_powers, strict=False):
            if c:
                u, v = u + s * c, v + t * c
        return u, v

    def root(self, x: Number) -> Number | None:
        """Some s in the field with s*s = x, or None if there is none. Exact.

        s = a + b y with x = u + v y: if v = 0 then a = 0 or b = 0; else a^2 = (u +- n)/2 with
        n^2 = u^2 - v^2 z, and b = v/(2a).
        """
        sign = x.sign()
        if sign <= 0:
            return x if sign == 0 else None
        if not self.residues.may_be_square(x):
            return None
        u, v = self.down(x)
        if not v:
            a = self.below.root(u)
            if a is not None:
                return _checked(self.up(a), x)
            b = self.below.root(u / self.z)
            return None if b is None else _checked(self.up(b) * self.y, x)
        norm = self.below.root(u * u - v * v * self.z)
        if norm is None:
            return None
        for half in ((u + norm) / 2, (u - norm) / 2):
            a = self.below.root(half)
            if a:
                return _checked(self.up(a) + self.up(v / (2 * a)) * self.y, x)
        return None


def _checked(s: Number, x: Number | Fraction) -> Number:
    if s * s != x:
        raise ArithmeticError("a square root whose square is something else")
    return s


def _trace(x: Number) -> Fraction:
    """The trace to Q."""
    sums = poly.power_sums(x.field.polynomial, x.field.degree)
    return sum([c * t for c, t in zip(x.coefficients(), sums, strict=True)], Fraction(0))


def _charpoly(z: Number) -> tuple[int, ...]:
    """The characteristic polynomial over Q of an algebraic integer."""
    power, sums = z, []
    for _ in range(z.field.degree):
        sums.append(_trace(power).numerator)
        power = power * z
    return poly.from_power_sums(sums)


def _integral(x: Number) -> tuple[Number, Fraction]:
    """(z, scale) with x = scale^2 * z, z an algebraic integer with few square factors."""
    numerators, denominator = x.integers()
    content = poly.content(numerators)
    s, f = poly.square_part(content * denominator)
    z, scale = x.field.element([c // content * f for c in numerators]), Fraction(s, denominator)
    charpoly = _charpoly(z)
    n = x.field.degree
    # Z[alpha] need not hold all algebraic integers of the field: z / p^2 may still be one
    for p in poly.small_prime_factors(denominator * 30):
        while all(c % p ** (2 * (n - i)) == 0 for i, c in enumerate(charpoly)):
            charpoly = tuple([c // p ** (2 * (n - i)) for i, c in enumerate(charpoly)])
            z, scale = z / (p * p), scale * p
    return z, scale


def _shift_charpoly(field: Field, z: Number, k: int) -> tuple[int, ...]:
    """The characteristic polynomial over Q of y + k alpha in K[y]/(y^2 - z), z an algebraic integer."""
    alpha = field.generator()
    u, v = field.element((1,)), field.element((0,))
    sums = []
    for _ in range(2 * field.degree):
        u, v = u * alpha * k + v * z, u + v * alpha * k
        sums.append((2 * _trace(u)).numerator)
    return poly.from_power_sums(sums)


def _best_shift(field: Field, z: Number) -> tuple[int, tuple[int, ...]]:
    """k and the irreducible polynomial of sqrt(z) + k alpha, k small, with small coefficients."""
    if field.degree == 1:
        return 0, (-z.as_fraction().numerator, 0, 1)
    best: tuple[int, int, tuple[int, ...]] | None = None
    k = 0
    while best is None or abs(k) <= 1:
        candidate = _shift_charpoly(field, z, k)
        if poly.proved_squarefree(candidate):
            size = sum([abs(c).bit_length() for c in candidate])
            if best is None or size < best[0]:
                best = size, k, candidate
        k = 1 - k if k <= 0 else -k
    return best[1], best[2]


def _root_of_shift(charpoly: Sequence[int], field: Field, z: Number, k: int) -> tuple[Fraction, Fraction]:
    """An isolating interval of sqrt(z) + k alpha."""
    bits = 8
    while True:
        low, high = z.enclosure(2 * bits + 8)
        if low > 0:
            scale = 1 << 2 * bits + 8
            below = Fraction(isqrt((low.numerator * scale) // low.denominator), 1 << bits + 4)
            above = Fraction(isqrt(-((-high.numerator * scale) // high.denominator)) + 1, 1 << bits + 4)
            bottom, top = (k * field.generator()).enclosure(bits + 4)
            interval = cyclotomic.widened(below + bottom, above + top, bits)
            if poly.isolates(charpoly, interval):
                return interval
        bits *= 2


def _name_of_shift(field: Field, k: int, text: str) -> str:
    if k == 0:
        return text
    name = field.name if abs(k) == 1 else f"{abs(k)}*({field.name})"
    if k > 0:
        return f"{text}+{name}"
    return f"{text}-({name})" if abs(k) == 1 else f"{text}-{name}"


def _root_by_factors(field: Field, x: Number) -> Number | None:
    """A square root of x in a field without a known tower, by factoring over Q. Exact.

    If x generates the field and P is its minimal polynomial, x is a square exactly if P(X^2) is reducible,
    then as h(X) h(-X); from h(s) = A(x) + s B(x) = 0 comes s. An x that does not generate the field is
    first multiplied by a square.
    """
    from sympy import ZZ, Poly, Symbol  # type: ignore[import-untyped, unused-ignore]

    alpha = field.generator()
    shift = 0
    multiplier = field.element((1,))
    while True:
        numerators, denominator = (x * multiplier * multiplier).integers()
        z = field.element(numerators) * denominator
        charpoly = _charpoly(z)
        if poly.proved_squarefree(charpoly):
            break
        shift += 1
        multiplier = alpha + shift
    doubled = [0] * (2 * field.degree + 1)
    doubled[::2] = charpoly
    _, factors = Poly(doubled[::-1], Symbol("x"), domain=ZZ).factor_list()
    if len(factors) == 1 and factors[0][1] == 1:
        return None
    h = [int(c) for c in factors[0][0].all_coeffs()[::-1]]
    even = odd = field.element((0,))
    power = field.element((1,))
    for i in range(0, len(h), 2):
        even = even + power * h[i]
        if i + 1 < len(h):
            odd = odd + power * h[i + 1]
        power = power * z
    if not odd:
        raise ArithmeticError("a factor that gives no square root")
    return _checked(-even / odd / denominator / multiplier, x)


class _Residues:
    """Primes of degree one of a field, as (p, r) with alpha -> r modulo p: proofs that x is no square."""

    _WANTED = 24
    _HIGHEST = 1500

    def __init__(self, field: Field) -> None:
        self.field = field
        self.known: list[tuple[int, int]] | None = None

    def primes(self) -> list[tuple[int, int]]:
        if self.known is None:
            self.known = []
            p = self.field.polynomial
            slope = poly.derivative(p)
            for prime in poly.primes_below(self._HIGHEST)[1:]:
                found = 0
                here = [c % prime for c in p]
                for r in range(prime):
                    # a simple root only: then the prime ideal (prime, alpha - r) has degree one
                    if _at(here, r, prime) == 0 and _at(slope, r, prime) != 0:
                        self.known.append((prime, r))
                        found += 1
                        if found == 4:
                            break
                if len(self.known) >= self._WANTED:
                    break
        return self.known

    def may_be_square(self, x: Number) -> bool:
        """False proves that x is no square in the field; True proves nothing."""
        numerators, denominator = x.integers()
        for prime, r in self.primes():
            d = denominator % prime
            if d:
                value = _at(numerators, r, prime) * d % prime
                if value and pow(value, (prime - 1) // 2, prime) != 1:
                    return False
        return True


def _at(polynomial: Sequence[int], x: int, modulus: int) -> int:
    result = 0
    for c in reversed(polynomial):
        result = (result * x + c) % modulus
    return result


# the numbers of a document


class _Builder:
    def __init__(self, limits: Limits) -> None:
        self.limits = limits
        self.tower: _Base | _Level = _Base(None)
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
        self.tower = _Base(self.angles)
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
        known = self.tower.root(x)
        if known is not None:
            return abs(known)
        degree = 2 * self.field.degree
        if degree > self.limits.degree:
            raise DegreeLimit(node.text, degree, self.limits.degree)
        z, scale = _integral(x)
        given = node.text if scale == 1 else f"{1 / scale}*{node.text}"
        derived = f"sqrt({z.text()})"
        level = _Level(self.tower, z, given if len(given) < len(derived) else derived)
        self.tower = level
        self.trigonometric = {key: level.up(value) for key, value in self.trigonometric.items()}
        self.roots = {key: level.up(value) for key, value in self.roots.items()}
        return level.y * scale

    def value(self, text: str, node: Expression, record: bool) -> Number:
        """The value of a node; with `record` the witnesses are collected, in the final field."""
        if node.rational is not None:
            return self.field.element((node.rational,))
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
                return self.field.element((0,))
            if turn.denominator == 4:
                return self.field.element((1 if turn.numerator == 1 else -1,))
        else:
            turn = _turn_of_cosine(node)
            if turn.denominator <= 3:
                return self.field.element((_rational_cosine(turn),))
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
