"""Polynomials with rational coefficients, low to high: only what fields need.

All functions are exact. The last coefficient is not 0 unless it says otherwise.
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from math import isqrt, lcm

Interval = tuple[Fraction, Fraction]

_PRIMES_FOR_SQUAREFREE = (2147483647, 2147483629, 2147483587, 2147483579)


def derivative(polynomial: Sequence[int]) -> tuple[int, ...]:
    """The derivative; of a constant it is ()."""
    return tuple(i * polynomial[i] for i in range(1, len(polynomial)))


def horner(polynomial: Sequence[int]) -> list[list[int]]:
    """The Horner polynomials H_0 = 1, H_j = x H_(j-1) + c_(d-j) of a monic polynomial of degree d, for j < d."""
    found = [[1]]
    for coefficient in polynomial[-2:0:-1]:
        found.append([coefficient, *found[-1]])
    return found


def isolates(polynomial: Sequence[int], interval: Interval) -> bool:
    """Opposite signs at the ends and a derivative without 0: exactly one root, and simple. False proves nothing."""
    # in integers: over a common denominator d of the ends every value is multiplied by a power of d
    d = lcm(interval[0].denominator, interval[1].denominator)
    low, high = (end.numerator * (d // end.denominator) for end in interval)
    if not low < high:
        return False
    at_low = at_high = 0
    scale = 1
    for coefficient in reversed(polynomial):
        at_low, at_high = at_low * low + coefficient * scale, at_high * high + coefficient * scale
        scale *= d
    if not at_low * at_high < 0:
        return False
    bottom = top = 0
    scale = 1
    for coefficient in reversed(derivative(polynomial)):
        products = (bottom * low, bottom * high, top * low, top * high)
        bottom, top = min(products) + coefficient * scale, max(products) + coefficient * scale
        scale *= d
    return bottom > 0 or top < 0


def from_power_sums(sums: Sequence[int]) -> tuple[int, ...]:
    """The monic polynomial whose n roots have the power sums s_1 ... s_n (Newton's identities), of algebraic integers
    closed under conjugation; `sums[i]` is s_(i+1). Raises ArithmeticError if its coefficients are no integers.
    """
    elementary = [1]
    for k in range(1, len(sums) + 1):
        total = 0
        for i in range(1, k + 1):
            term = elementary[k - i] * sums[i - 1]
            total += term if i % 2 else -term
        quotient, rest = divmod(total, k)
        if rest:
            raise ArithmeticError("power sums that belong to no monic integer polynomial")
        elementary.append(quotient)
    n = len(sums)
    return tuple((-1) ** (n - i) * elementary[n - i] for i in range(n + 1))


def power_sums(polynomial: Sequence[int], count: int) -> list[int]:
    """The sums of the k-th powers of all roots, k = 0 ... count - 1, of a monic polynomial."""
    n = len(polynomial) - 1
    sums = [n]
    for k in range(1, count):
        total = 0
        for i in range(1, min(k - 1, n) + 1):
            total -= polynomial[n - i] * sums[k - i]
        if k <= n:
            total -= k * polynomial[n - k]
        sums.append(total)
    return sums[:count]


def proved_squarefree(polynomial: Sequence[int]) -> bool:
    """True proves that a monic integer polynomial has no multiple root (modulo a large prime); False nothing."""
    slope = list(derivative(polynomial))
    return any(len(_gcd_modulo(list(polynomial), slope, prime)) == 1 for prime in _PRIMES_FOR_SQUAREFREE)


def _gcd_modulo(a: list[int], b: list[int], prime: int) -> list[int]:
    p = [c % prime for c in a]
    q = [c % prime for c in b]
    for x in (p, q):
        while x and x[-1] == 0:
            x.pop()
    while q:
        inverse = pow(q[-1], -1, prime)
        while len(p) >= len(q):
            factor = p[-1] * inverse % prime
            shift = len(p) - len(q)
            for i, coefficient in enumerate(q):
                p[shift + i] = (p[shift + i] - factor * coefficient) % prime
            while p and p[-1] == 0:
                p.pop()
        p, q = q, p
    return p


def primes_below(bound: int) -> list[int]:
    """All primes below the bound, rising."""
    sieve = bytearray([1]) * max(bound, 2)
    sieve[0:2] = b"\0\0"
    for i in range(2, isqrt(max(bound, 2)) + 1):
        if sieve[i]:
            sieve[i * i :: i] = bytes(len(range(i * i, len(sieve), i)))
    return [i for i in range(bound) if sieve[i]]


_SMALL_PRIMES = primes_below(10_000)


def square_part(n: int) -> tuple[int, int]:
    """(s, f) with n = s*s*f for n >= 1, f without square factors of primes below 10,000: squarefree if below 10^8, or
    if the part without such primes is a prime. Squares of larger primes may stay in f.
    """
    s, f, rest = 1, 1, n
    for prime in _SMALL_PRIMES:
        if prime * prime > rest:
            break
        if rest % prime == 0:
            power = 0
            while rest % prime == 0:
                rest //= prime
                power += 1
            s *= prime ** (power // 2)
            f *= prime ** (power % 2)
    root = isqrt(rest)
    if root * root == rest:
        return s * root, f
    return s, f * rest


def small_prime_factors(n: int) -> list[int]:
    """The primes below 10,000 that divide n > 0."""
    return [p for p in _SMALL_PRIMES if n % p == 0]
