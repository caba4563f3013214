"""Number fields as they were built: rationals, or cosines and tangents, and above them square roots.

Whether an element x of such a field K is a square in it is decided exactly, by descent through the tower; at its
bottom "no" by a prime of degree one at which x is no quadratic residue, or by factors; "yes" by an element s with
s*s = x. Only if x is no square does K grow, to K(sqrt(x)), whose degree is then exactly twice as large. So every
defining polynomial is irreducible by construction. Approximations only say which real root alpha is.
"""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Callable, Sequence
from fractions import Fraction
from functools import cached_property
from itertools import islice
from math import gcd, isqrt

from verify.exact import cyclotomic
from verify.exact import polynomial as poly
from verify.exact.algebraic import characteristic_polynomial, element, generator, trace
from verify.exact.expression import DegreeLimit
from verify.exact.number import Number, square_root_of_square
from verify.exact.numberfield import RATIONALS, Field

_SMALL = 4  # the degree of a field
_SPARE = 32  # bits of precision for each number
_STEPS = 10_000
_PRIMES, _ROOTS, _HIGHEST_PRIME = 24, 4, 1500


class Tower(ABC):
    """A number field, `field`, with the way it was built."""

    def __init__(self, field: Field) -> None:
        self.field = field

    def root(self, x: Number) -> Number | None:
        """Some s in the field with s*s = x, or None if there is none. Exact."""
        sign = x.sign()
        if sign == 0:
            return x
        return self._root(x) if sign > 0 else None

    @abstractmethod
    def _root(self, x: Number) -> Number | None:
        """The same for x > 0."""

    def with_root(self, x: Number, text: str, degree: int) -> tuple[Level | None, Number]:
        """The root >= 0 of x >= 0, written as `text`, and the larger field it may take. Exact. Raises DegreeLimit past
        `degree`.
        """
        if x.is_rational:
            x = element(self.field, (x.as_fraction(),))
        known = self.root(x)
        if known is not None:
            return None, abs(known)
        if 2 * self.field.degree > degree:
            raise DegreeLimit(text, 2 * self.field.degree, degree)
        z, scale = _integral(x)
        given = text if scale == 1 else f"{1 / scale}*{text}"
        derived = f"sqrt({z.text()})"
        level = Level(self, z, given if len(given) < len(derived) else derived)
        return level, level.y * scale


Image = Callable[[Number], Number]


def adjoin(tower: Tower, radicands: Sequence[Number], degree: int) -> tuple[Tower, Image, list[Number]]:
    """The field with square roots of some of its elements >= 0, larger if need be; how its numbers are written there;
    and the roots >= 0. Raises DegreeLimit past that degree. Exact.
    """
    levels: list[Level] = []
    roots: dict[Number, Number] = {}

    def image(x: Number) -> Number:
        for level in levels:
            x = level.up(x)
        return x

    for x in dict.fromkeys(radicands):
        level, root = tower.with_root(image(x), f"sqrt({x.text()})", degree)
        if level is not None:
            tower, roots = level, {y: level.up(known) for y, known in roots.items()}
            levels.append(level)
        roots[x] = root
    return tower, image, [roots[x] for x in radicands]


class Base(Tower):
    """The bottom of a tower: the rationals, or a field of cosines and tangents."""

    def __init__(self, angles: cyclotomic.RealCyclotomic | None) -> None:
        super().__init__(RATIONALS if angles is None else angles.field)
        self.angles = angles

    @cached_property
    def _primes(self) -> list[tuple[int, int]]:
        """Primes p of degree one, as (p, r) with alpha -> r modulo p: where an element is no square, it is none."""
        found: list[tuple[int, int]] = []
        polynomial, slope = self.field.polynomial, poly.derivative(self.field.polynomial)
        for prime in poly.primes_below(_HIGHEST_PRIME)[1:]:
            here = [c % prime for c in polynomial]
            # a simple root only: then the prime ideal (prime, alpha - r) has degree one
            roots = (r for r in range(prime) if _at(here, r, prime) == 0 and _at(slope, r, prime) != 0)
            found += [(prime, r) for r in islice(roots, _ROOTS)]
            if len(found) >= _PRIMES:
                break
        return found

    def _may_be_square(self, x: Number) -> bool:
        """False proves that x is no square in the field; True proves nothing."""
        numerators, denominator = x.integers()
        for prime, r in self._primes:
            value = _at(numerators, r, prime) * denominator % prime
            if value and pow(value, (prime - 1) // 2, prime) != 1:
                return False
        return True

    def _root(self, x: Number) -> Number | None:
        if x.is_rational:
            return self._root_of_rational(x.as_fraction())
        if self.field.degree == 2:
            return self._root_in_quadratic(x)
        if not self._may_be_square(x):
            return None
        return _root_by_relation(self.field, x) or _root_by_factors(self.field, x)

    def _root_of_rational(self, x: Fraction) -> Number | None:
        root = square_root_of_square(x)
        if root is not None or self.angles is None:
            return None if root is None else element(self.field, (root,))
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
                return _checked(element(self.field, (a, v / (2 * a))), x)
        return None


class Level(Tower):
    """K(y) with y*y = z in K, y > 0, z no square in K: the field, and the ways up and down."""

    def __init__(self, below: Tower, z: Number, text: str) -> None:
        self.below = below
        self.z = z
        k, charpoly = _best_shift(below.field, z)
        root = _root_of_shift(charpoly, below.field, z, k)
        super().__init__(Field(charpoly, root, _name_of_shift(below.field, k, text)))
        # the powers of theta = y + k alpha as pairs u + v y, u and v in K
        alpha = generator(below.field)
        one, zero = element(below.field, (1,)), element(below.field, (0,))
        self.down_powers = [(one, zero)]
        for _ in range(1, self.field.degree):
            u, v = self.down_powers[-1]
            self.down_powers.append((u * alpha * k + v * z, u + v * alpha * k))
        self.up_alpha, self.y = self._images(k, charpoly)
        powers = [element(self.field, (1,))]
        for _ in range(1, below.field.degree):
            powers.append(powers[-1] * self.up_alpha)
        self.up_powers = powers
        _checked(self.y, self.up(z))
        if self.y.sign() <= 0:
            raise ArithmeticError("a square root that came out negative")

    def _images(self, k: int, charpoly: tuple[int, ...]) -> tuple[Number, Number]:
        """alpha and y in the new field (rational univariate representation, by traces)."""
        field = self.field
        if self.below.field.degree == 1:
            return element(field, (0,)), generator(field)
        d = field.degree
        alpha = generator(self.below.field)
        horner = poly.horner(charpoly)
        total = [Fraction(0)] * d
        for i, (u, _) in enumerate(self.down_powers):
            t = 2 * trace(u * alpha)
            for m, c in enumerate(horner[d - 1 - i]):
                total[m] += t * c
        image = element(field, total) / element(field, list(poly.derivative(charpoly)))
        return image, generator(field) - image * k

    def up(self, x: Number) -> Number:
        """An element of K, in K(y)."""
        total = element(self.field, (0,))
        for c, power in zip(x.coefficients(), self.up_powers, strict=False):
            if c:
                total = total + power * c
        return total

    def down(self, x: Number) -> tuple[Number, Number]:
        """(u, v) in K with x = u + v y."""
        u = v = element(self.below.field, (0,))
        for c, (s, t) in zip(x.coefficients(), self.down_powers, strict=False):
            if c:
                u, v = u + s * c, v + t * c
        return u, v

    def _root(self, x: Number) -> Number | None:
        """s = a + b y, x = u + v y: if v = 0, a or b is 0; else 2 a^2 = u +- n, n^2 = u^2 - v^2 z, b = v/(2a)."""
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


def _integral(x: Number) -> tuple[Number, Fraction]:
    """(z, scale) with x = scale^2 * z, z an algebraic integer with few square factors."""
    numerators, denominator = x.integers()
    content = gcd(*numerators)
    s, f = poly.square_part(content * denominator)
    z, scale = element(x.field, [c // content * f for c in numerators]), Fraction(s, denominator)
    charpoly = characteristic_polynomial(z)
    n = x.field.degree
    # Z[alpha] need not hold all algebraic integers of the field: z / p^2 may still be one
    for p in poly.small_prime_factors(denominator * 30):
        while all(c % p ** (2 * (n - i)) == 0 for i, c in enumerate(charpoly)):
            charpoly = tuple([c // p ** (2 * (n - i)) for i, c in enumerate(charpoly)])
            z, scale = z / (p * p), scale * p
    return z, scale


def _shift_charpoly(field: Field, z: Number, k: int) -> tuple[int, ...]:
    """The characteristic polynomial over Q of y + k alpha in K[y]/(y^2 - z), z an algebraic integer."""
    alpha = generator(field)
    u, v = element(field, (1,)), element(field, (0,))
    sums = []
    for _ in range(2 * field.degree):
        u, v = u * alpha * k + v * z, u + v * alpha * k
        sums.append((2 * trace(u)).numerator)
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
            bottom, top = (k * generator(field)).enclosure(bits + 4)
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


def _root_by_relation(field: Field, x: Number) -> Number | None:
    """A root of x > 0 by an integer relation with powers of alpha (PSLQ), tested exactly; None proves nothing."""
    if field.degree > _SMALL:
        return None
    from mpmath import mp, mpf, pslq, sqrt  # slow to load

    numerators, denominator = x.integers()
    bits = (field.degree + 1) * (max(denominator, *map(abs, numerators)).bit_length() + _SPARE)
    with mp.workprec(bits):
        lows = (number.enclosure(bits)[0] for number in (x, generator(field)))
        value, alpha = (mpf(low.numerator) / low.denominator for low in lows)
        found = pslq([sqrt(value), *(alpha**i for i in range(field.degree))], maxcoeff=1 << bits, maxsteps=_STEPS)
    if not found or not found[0]:
        return None
    root = element(field, [Fraction(-c, found[0]) for c in found[1:]])
    return root if root * root == x else None


def _root_by_factors(field: Field, x: Number) -> Number | None:
    """A square root of x in a field without a known tower, by factoring X^2 - x over the field. Exact."""
    from sympy import QQ, Poly, Symbol  # type: ignore[import-untyped, unused-ignore]

    unknown = Symbol("X")
    over = QQ.alg_field_from_poly(Poly(field.polynomial[::-1], unknown))
    value = over([QQ(c.numerator, c.denominator) for c in reversed(x.coefficients())])
    _, [(factor, _), *others] = Poly.from_list([over.one, over.zero, -value], unknown, domain=over).factor_list()
    if not others:
        return None
    coefficients = (-factor.rep.to_list()[-1]).to_list()
    return _checked(element(field, [Fraction(int(c.numerator), int(c.denominator)) for c in coefficients[::-1]]), x)


def _at(polynomial: Sequence[int], x: int, modulus: int) -> int:
    result = 0
    for c in reversed(polynomial):
        result = (result * x + c) % modulus
    return result
