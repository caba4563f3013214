"""Cosines, tangents and square roots of rationals as sums of roots of unity.

With N fixed and z = exp(2 pi i / N), an element of Q(z) is a vector of N rational coefficients of
1, z, ..., z^(N-1) (not unique). All questions about a field of such numbers are decided by
integers: the Galois group is (Z/N)*, a acting by z -> z^a, and the trace of z^j is Ramanujan's sum.
Floats only say in which order candidates for a generator are tried. Which root of its polynomial the
generator is, a rigorous enclosure decides.
"""

from __future__ import annotations

from collections.abc import Iterable
from fractions import Fraction
from itertools import pairwise
from itertools import product as choices
from math import cos, gcd, isqrt, lcm, pi, prod

from verify.exact import polynomial as poly
from verify.exact.algebraic import element, generator
from verify.exact.number import Number
from verify.exact.numberfield import Field

Vector = dict[int, Fraction]
Generator = tuple[str, int]
"""("cos", q) for cos(pi/q), q >= 4, or ("tan", q) for tan(pi/q), q = 3 or q >= 5."""


def totient(n: int) -> int:
    """Euler's phi."""
    result, rest, p = n, n, 2
    while p * p <= rest:
        if rest % p == 0:
            result -= result // p
            while rest % p == 0:
                rest //= p
        p += 1
    return result - result // rest if rest > 1 else result


def order_for(generator: Generator) -> int:
    """The m for which the number generates the field of 2 cos(2 pi / m), inside that of the m-th roots of unity.

    cos(pi/q) is 2 cos(2 pi / 2q) / 2, and for odd q, up to the sign, a cosine of a multiple of 2 pi / q.
    i tan(pi/q) is a fraction in exp(2 pi i / q): z -> z^a fixes the tangent if a = 1 modulo 4 and q, or a = -1
    modulo 4 and q; that is, if a = +-1 modulo their least common multiple.
    """
    kind, q = generator
    if kind == "cos":
        return q if q % 2 else 2 * q
    return lcm(4, q)


def degree_of(generator: Generator) -> int:
    """The degree over Q of the number."""
    return totient(order_for(generator)) // 2


def trace(n: int, j: int) -> int:
    """The trace from Q(z) to Q of z^j: Ramanujan's sum c_n(j)."""
    order = n // gcd(n, j)
    return _moebius(order) * totient(n) // totient(order)


def _moebius(n: int) -> int:
    sign, p = 1, 2
    while p * p <= n:
        if n % p == 0:
            n //= p
            if n % p == 0:
                return 0
            sign = -sign
        p += 1
    return -sign if n > 1 else sign


def product(n: int, a: Vector, b: Vector) -> Vector:
    """The product of two vectors; exponents are taken modulo n."""
    result: Vector = {}
    for i, x in a.items():
        for j, y in b.items():
            k = (i + j) % n
            result[k] = result.get(k, Fraction(0)) + x * y
    return {k: v for k, v in result.items() if v}


def cosine(n: int, turn: Fraction) -> Vector:
    """cos(turn * pi) = (z^k + z^-k) / 2 with 2 pi k / n = turn * pi."""
    k = turn * n / 2
    sign = 1
    if k.denominator != 1:
        # n odd: cos(t pi) = -cos((1 - t) pi)
        k, sign = (1 - turn) * n / 2, -1
    if k.denominator != 1:
        raise ArithmeticError("the cosine lies in no field of these roots of unity")
    result: Vector = {}
    for exponent in (k.numerator % n, -k.numerator % n):
        result[exponent] = result.get(exponent, Fraction(0)) + Fraction(sign, 2)
    return result


def tangent(n: int, turn: Fraction) -> Vector:
    """tan(turn * pi) = i (2 / (1 - w) - 1) with w = -exp(2 pi i turn), and 1/(1 - w) = -(1/m) sum k w^k.

    m is the order of the root of unity w, which is not 1; 4 divides n.
    """
    w = turn + Fraction(1, 2)
    step = w * n
    if step.denominator != 1 or n % 4:
        raise ArithmeticError("the tangent lies in no field of these roots of unity")
    m = w.denominator
    quarter = n // 4
    result: Vector = {quarter: Fraction(-1)}
    for k in range(1, m):
        exponent = (quarter + k * step.numerator) % n
        result[exponent] = result.get(exponent, Fraction(0)) - Fraction(2 * k, m)
    return {k: v for k, v in result.items() if v}


def square_root(n: int, radicand: int) -> Vector | None:
    """sqrt(radicand) for a squarefree integer above 1, by Gauss's sums, or None if it is not in Q(z).

    It is in Q(z) exactly if the discriminant of Q(sqrt(radicand)) divides n.
    """
    discriminant = radicand if radicand % 4 == 1 else 4 * radicand
    if n % discriminant:
        return None
    result: Vector = {0: Fraction(1)}
    if radicand % 2 == 0:
        result = {n // 8: Fraction(1), n - n // 8: Fraction(1)}
    quarters = 0
    rest, p = (radicand // 2 if radicand % 2 == 0 else radicand), 3
    while rest > 1:
        if rest % p == 0:
            rest //= p
            squares = {k * k % p for k in range(1, p)}
            gauss = {k * (n // p): Fraction(1 if k in squares else -1) for k in range(1, p)}
            result = product(n, result, gauss)
            quarters += p % 4 == 3
        p += 2
    # the product of the Gauss sums is i^quarters times the root
    turns = -quarters % 4
    if turns % 2 == 0:
        return result if turns == 0 else {k: -v for k, v in result.items()}
    return {(k + turns * (n // 4)) % n: v for k, v in result.items()}


class RealCyclotomic:
    """The field generated by some cosines and tangents: a real subfield of Q(z) and its coordinates.

    `degree` is exact and known before anything else is computed; `field` and `coordinates` need
    `build` first.
    """

    def __init__(self, generators: Iterable[Generator]) -> None:
        self.generators = list(dict.fromkeys(generators))
        self.orders = list(dict.fromkeys([order_for(g) for g in self.generators]))
        self.n = lcm(*self.orders)
        units = [a for a in range(1, self.n) if gcd(a, self.n) == 1]
        self.fixing = [a for a in units if all(a % m in (1, m - 1) for m in self.orders)]
        self.degree = len(units) // len(self.fixing)
        self._units = units

    def build(self) -> None:
        """Choose a generator, an algebraic integer with small coefficients, and make the field."""
        theta = self._primitive()
        self._tables = self._trace_tables(theta)
        self._charpoly = self._charpoly_of(self._tables)
        self.inner = Field(self._charpoly, self._root(theta), _name(self.n, theta))
        self.field = self.inner
        dual = self._dual()
        if self.degree == 2:
            c0, c1, _ = self._charpoly
            s, f = poly.square_part(c1 * c1 - 4 * c0)
            root = isqrt(f)
            self.field = Field((-f, 0, 1), (Fraction(root), Fraction(root + 1)), f"sqrt({f})")
            sign = 1 if 2 * generator(self.inner) + c1 > 0 else -1
            image = element(self.field, (Fraction(-c1, 2), Fraction(sign * s, 2)))
            dual = [image * b + a for a, b in (number.coefficients() for number in dual)]
        parts = [number.coefficients() for number in dual]
        self._over = lcm(*[c.denominator for part in parts for c in part])
        self._columns = [[(c * self._over).numerator for c in column] for column in zip(*parts, strict=True)]

    def _dual(self) -> list[Number]:
        """The basis that is dual, by the trace, to the powers of alpha: H_(d-1-i)(alpha) / p'(alpha), H the Horner
        polynomials of p; divided by the degree of Q(z) over the field, as traces are from Q(z).
        """
        horner: list[list[int]] = [[1]]
        for j in range(1, self.degree):
            horner.append([self._charpoly[self.degree - j], *horner[-1]])
        slope = element(self.inner, poly.derivative(self._charpoly)) * (totient(self.n) // self.degree)
        inverse = 1 / slope
        return [element(self.inner, h) * inverse for h in reversed(horner)]

    def contains_root(self, radicand: int) -> bool:
        """Whether sqrt(radicand), known to be in Q(z), is in the field: all that fixes the field fixes it. Exact.

        z -> z^a multiplies the root of a squarefree radicand by the Kronecker symbol of its discriminant and a.
        """
        discriminant = radicand if radicand % 4 == 1 else 4 * radicand
        # the symbol depends on a modulo the discriminant, which divides n: an odd a serves
        return all(_jacobi(discriminant, a if a % 2 else a + self.n) == 1 for a in self.fixing)

    def coordinates(self, vector: Vector) -> Number:
        """The element of the field, for a number in it: the sum of Tr(v alpha^i) times the dual basis."""
        denominator = lcm(*[v.denominator for v in vector.values()])
        scaled = [(k, v.numerator * (denominator // v.denominator)) for k, v in vector.items()]
        traces = [sum([v * table[k] for k, v in scaled]) for table in self._tables[: self.degree]]
        total = [sum([c * t for c, t in zip(column, traces, strict=True)]) for column in self._columns]
        return element(self.field, total) / (denominator * self._over)

    def _trace_tables(self, theta: dict[int, int]) -> list[list[int]]:
        """Entry [i][k] is the trace from Q(z) to Q of z^k theta^i, i = 0 ... degree."""
        n = self.n
        sums = {n // m: trace(n, n // m) for m in range(1, n + 1) if n % m == 0}
        tables = [[sums[gcd(n, k)] for k in range(n)]]
        for _ in range(self.degree):
            last = tables[-1]
            tables.append([sum([v * last[(k + e) % n] for e, v in theta.items()]) for k in range(n)])
        return tables

    def _charpoly_of(self, tables: list[list[int]]) -> tuple[int, ...]:
        """The characteristic polynomial of theta over Q, in the field of this degree."""
        size = totient(self.n) // self.degree
        return poly.from_power_sums([table[0] // size for table in tables[1:]])

    def _primitive(self) -> dict[int, int]:
        """An algebraic integer that generates the field: its characteristic polynomial has no multiple root."""
        n = self.n
        for m in range(3, n + 1):
            if n % m == 0 and totient(m) == 2 * self.degree and all(a % m in (1, m - 1) for a in self.fixing):
                return {n // m: 1, n - n // m: 1}
        # sums of cosines that are in the field themselves, so that its name needs no larger field
        cosines = [c for c in [self._orbit(j) for j in range(1, n) if n % j == 0] if len(c) == 2]
        candidates = cosines + [_sum(a, b, k) for a in cosines for b in cosines if a is not b for k in (1, -1)]
        orders = [m for m in self.orders if not any(other % m == 0 for other in self.orders if other != m)]
        for signs in choices((1, -1), repeat=min(len(orders) - 1, 6)):
            candidates.append(self._combination(orders, [1, *signs]))
        # floats only say in which order to try them
        ranked = sorted([(*self._rank(c), i) for i, c in enumerate(candidates)])
        for _, _, i in ranked:
            if poly.proved_squarefree(self._charpoly_of(self._trace_tables(candidates[i]))):
                return candidates[i]
        k = 1
        while True:
            # for all but finitely many k the combination generates the field
            total = self._combination(orders, [k**i for i in range(len(orders))])
            if poly.proved_squarefree(self._charpoly_of(self._trace_tables(total))):
                return total
            k += 1

    def _combination(self, orders: list[int], factors: list[int]) -> dict[int, int]:
        """The sum of factor * 2 cos(2 pi / m) over the orders m."""
        total: dict[int, int] = {}
        for m, factor in zip(orders, factors, strict=False):
            total = _sum(total, {self.n // m: 1, self.n - self.n // m: 1}, factor)
        return total

    def _rank(self, theta: dict[int, int]) -> tuple[bool, float]:
        """(whether two conjugates seem equal, a measure of the coefficients and of the number of terms)."""
        cosines = [cos(2 * pi * k / self.n) for k in range(self.n)]
        conjugates = sorted([sum([v * cosines[a * k % self.n] for k, v in theta.items()]) for a in self._cosets()])
        equal = any(y - x < 1e-9 for x, y in pairwise(conjugates))
        return equal, round(len(theta) * prod([1 + abs(x) for x in conjugates]), 6)

    def _cosets(self) -> list[int]:
        """One automorphism for each conjugate of the field."""
        seen: set[int] = set()
        result = []
        for a in self._units:
            if a not in seen:
                result.append(a)
                seen.update([a * h % self.n for h in self.fixing])
        return result

    def _orbit(self, j: int) -> dict[int, int]:
        return {a * j % self.n: 1 for a in self.fixing}

    def _root(self, theta: dict[int, int]) -> tuple[Fraction, Fraction]:
        """An isolating interval of the real number theta, from rigorous cosines."""
        bits = 16
        while True:
            low = high = Fraction(0)
            for k, v in theta.items():
                below, above = cosine_enclosure(Fraction(2 * k, self.n), bits)
                low += v * (below if v > 0 else above)
                high += v * (above if v > 0 else below)
            interval = widened(low, high, bits)
            if poly.isolates(self._charpoly, interval):
                return interval
            bits += 16


def _sum(a: dict[int, int], b: dict[int, int], factor: int) -> dict[int, int]:
    result = dict(a)
    for k, v in b.items():
        result[k] = result.get(k, 0) + factor * v
    return {k: v for k, v in result.items() if v}


def _jacobi(top: int, bottom: int) -> int:
    """The Jacobi symbol (top / bottom) for an odd bottom > 0."""
    top %= bottom
    sign = 1
    while top:
        while top % 2 == 0:
            top //= 2
            if bottom % 8 in (3, 5):
                sign = -sign
        top, bottom = bottom, top
        if top % 4 == 3 and bottom % 4 == 3:
            sign = -sign
        top %= bottom
    return sign if bottom == 1 else 0


def widened(low: Fraction, high: Fraction, bits: int) -> tuple[Fraction, Fraction]:
    """The interval, with ends rounded outward to multiples of 2^-bits, and strictly larger than the old one."""
    scale = 1 << bits
    below = (low.numerator * scale) // low.denominator - 1
    above = -((-high.numerator * scale) // high.denominator) + 1
    return Fraction(below, scale), Fraction(above, scale)


def cosine_enclosure(turn: Fraction, bits: int) -> tuple[Fraction, Fraction]:
    """Rational (low, high) around cos(turn * pi), at most about 2^-bits apart. Rigorous.

    pi by Machin's formula with the error of the alternating series, the cosine by Taylor's with the next term.
    """
    turn = abs(turn) % 2
    if turn > 1:
        turn = 2 - turn
    if turn > Fraction(1, 2):
        low, high = cosine_enclosure(1 - turn, bits)
        return -high, -low
    precision = bits + 16
    below, above = _pi(precision)
    x = below * turn.numerator // turn.denominator
    square = (x * x) >> precision
    term, total, k = 1 << precision, 0, 0
    while term:
        total += term if k % 2 == 0 else -term
        k += 1
        term = ((term * square) >> precision) // ((2 * k - 1) * (2 * k))
    # x is short by less than above - below + 1, and so is its cosine; each term is off by less than 2, the tail too
    error = above - below + 2 * k + 3
    return Fraction(total - error, 1 << precision), Fraction(total + error, 1 << precision)


def _pi(precision: int) -> tuple[int, int]:
    """Integers around pi * 2^precision, a few units apart: 16 arctan(1/5) - 4 arctan(1/239)."""
    guard = 16
    scale = 1 << (precision + guard)

    def arctangent(d: int) -> tuple[int, int]:
        total, power, k = 0, scale // d, 0
        while power:
            total += power // (2 * k + 1) if k % 2 == 0 else -(power // (2 * k + 1))
            power //= d * d
            k += 1
        # each power and each quotient is short by less than 2, and the tail is below 1
        return total - 4 * k - 4, total + 4 * k + 4

    a, b = arctangent(5), arctangent(239)
    return (16 * a[0] - 4 * b[1]) >> guard, -((-(16 * a[1] - 4 * b[0])) >> guard)


def _name(n: int, theta: dict[int, int]) -> str:
    """The sum as an expression in cosines; theta is real, so z^k and z^-k have equal coefficients."""
    parts = []
    for k in sorted(theta):
        mirror = -k % n
        if mirror < k:
            continue
        value = theta[k] if mirror == k else 2 * theta[k]
        turn = Fraction(2 * k, n)
        if turn in (0, 1):
            value, text = (value if turn == 0 else -value), ""
        else:
            over = "" if turn.denominator == 1 else f"/{turn.denominator}"
            text = f"cos({'' if turn.numerator == 1 else f'{turn.numerator}*'}pi{over})"
        size = str(abs(value))
        body = size if not text else text if size == "1" else f"{size}*{text}"
        parts.append(("-" if value < 0 else "+") + body)
    return "".join(parts).removeprefix("+")
