"""The numbers of a document: literals and expressions, evaluated exactly with the certificate's values.

The certificate proposes the values of square roots, of cosines and tangents of
rational multiples of pi, and of reciprocals; each is verified when it is first
needed. So the number that comes out is the one that the text means, whatever
the certificate says, or there is no number.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction
from typing import Generic, TypeVar

from .numbers import BITS, Field, Number
from .reading import Malformed, Rejected, quoted

V = TypeVar("V")
TOKEN = re.compile(r"[ \t\n]*([0-9]+(?:\.[0-9]+)?(?:[eE][+-]?[0-9]+)?|[a-z]+|[-+*/()])[ \t\n]*")
CHARACTERS = 4_000
LITERAL_DIGITS = 1_000
EXPONENT = 1_000
NESTING = 50
DENOMINATOR = 1_000  # of an angle over pi
TWICE_COSINE = {1: (2, -2), 2: (2, 0, -2, 0), 3: (2, 1, -1, -2, -1, 1)}  # of p pi/q


def tokens(text: str) -> list[str]:
    """The tokens of an expression; their concatenation is its text in the statement."""
    if len(text) > CHARACTERS:
        raise Malformed("document.number", f"an expression has more than {CHARACTERS} characters")
    result: list[str] = []
    at = 0
    while at < len(text):
        match = TOKEN.match(text, at)
        if match is None:
            raise Malformed("document.number", f"{quoted(text)}: not understood from character {at + 1} on")
        result.append(match[1])
        at = match.end()
    return result


class Reader(Generic[V]):
    """Recursive descent over the grammar; a subclass says what the values are."""

    def __init__(self, items: list[str], at: int = 0, depth: int = 0) -> None:
        self.items = items
        self.at = at
        self.depth = depth

    def fault(self, message: str) -> Malformed:
        return Malformed("document.number", f"{quoted(''.join(self.items))}: {message}")

    def peek(self) -> str:
        return self.items[self.at] if self.at < len(self.items) else ""

    def take(self) -> str:
        token = self.peek()
        self.at += 1
        return token

    def expect(self, token: str) -> None:
        if self.take() != token:
            raise self.fault(f'expected "{token}"')

    def opened(self) -> None:
        self.expect("(")
        self.depth += 1
        if self.depth > NESTING:
            raise self.fault(f"nested more than {NESTING} deep")

    def closed(self) -> None:
        self.expect(")")
        self.depth -= 1

    def expression(self) -> V:
        value = self.term()
        while self.peek() in ("+", "-"):
            operator = self.take()
            value = self.combine(operator, value, self.term(), "")
        return value

    def term(self) -> V:
        value = self.factor()
        while self.peek() in ("*", "/"):
            operator, start = self.take(), self.at
            right = self.factor()
            value = self.combine(operator, value, right, "".join(self.items[start : self.at]))
        return value

    def factor(self) -> V:
        negative = False
        while self.peek() in ("+", "-"):
            negative ^= self.take() == "-"
        value = self.atom()
        return self.negative(value) if negative else value

    def atom(self) -> V:
        token = self.peek()
        if token == "(":
            self.opened()
            value = self.expression()
            self.closed()
            return value
        self.take()
        if not token[:1].isdigit():
            return self.named(token)
        mantissa, _, exponent = token.lower().partition("e")
        if sum(map(str.isdigit, token)) > LITERAL_DIGITS:
            raise self.fault(f"a literal has more than {LITERAL_DIGITS} digits")
        if exponent and abs(int(exponent)) > EXPONENT:
            raise self.fault(f"an exponent is beyond {EXPONENT}")
        whole, _, decimals = mantissa.partition(".")
        return self.literal(Fraction(int(whole + decimals)) * Fraction(10) ** (int(exponent or "0") - len(decimals)))

    def literal(self, q: Fraction) -> V:
        raise NotImplementedError

    def named(self, name: str) -> V:
        raise NotImplementedError

    def negative(self, value: V) -> V:
        raise NotImplementedError

    def combine(self, operator: str, left: V, right: V, text: str) -> V:
        """`text` is the right operand as written, for * and /."""
        raise NotImplementedError


@dataclass(frozen=True, slots=True)
class Angle:
    """plain + turn * pi."""

    plain: Fraction
    turn: Fraction


class AngleReader(Reader[Angle]):
    """Angles: literals and pi under + - * /, with one rational factor in each product."""

    def literal(self, q: Fraction) -> Angle:
        return Angle(q, Fraction(0))

    def named(self, name: str) -> Angle:
        if name != "pi":
            raise self.fault("an angle is made of literals and pi")
        return Angle(Fraction(0), Fraction(1))

    def negative(self, value: Angle) -> Angle:
        return Angle(-value.plain, -value.turn)

    def combine(self, operator: str, left: Angle, right: Angle, text: str) -> Angle:
        if operator in ("+", "-"):
            sign = 1 if operator == "+" else -1
            result = Angle(left.plain + sign * right.plain, left.turn + sign * right.turn)
        elif operator == "*":
            if left.turn and right.turn:
                raise self.fault("an angle has a product without a rational factor")
            plain = left.plain * right.plain
            result = Angle(plain, left.plain * right.turn + left.turn * right.plain)
        else:
            if right.turn or not right.plain:
                raise self.fault("an angle is divided by something else than a nonzero rational")
            result = Angle(left.plain / right.plain, left.turn / right.plain)
        for part in (result.plain, result.turn):
            if max(part.numerator.bit_length(), part.denominator.bit_length()) > BITS:
                raise Rejected("limit", f"an angle needs integers of more than {BITS} bits")
        return result


class Evaluator:
    """Evaluates texts in the field with the proposed values; remembers which keys were needed and verified."""

    def __init__(self, field: Field, proposed: dict[str, Number]) -> None:
        self.field = field
        self.proposed = proposed
        self.verified: dict[str, Number] = {}

    def value(self, items: list[str]) -> Number:
        reader = NumberReader(items, self)
        result = reader.expression()
        if reader.at != len(items):
            raise reader.fault(f"not understood from {quoted(reader.peek())} on")
        return result

    def finish(self) -> None:
        """Assumes (and checks) that no value was proposed that the document does not need."""
        for key in self.proposed:
            if key not in self.verified:
                raise Rejected("values.unused", f"the document does not need {quoted(key)}")

    def sign(self, x: Number) -> int:
        return self.field.sign(x.num)

    def equal(self, x: Number, y: Number) -> bool:
        return self.sign(x - y) == 0

    def candidate(self, key: str) -> Number:
        if key not in self.proposed:
            raise Rejected("values.missing", f"field.values has no {quoted(key)}")
        return self.proposed[key]

    def confirm(self, key: str, value: Number, holds: bool) -> Number:
        if not holds:
            raise Rejected("values.wrong", f"field.values[{quoted(key)}] is not that number")
        self.verified[key] = value
        return value

    def square_root(self, x: Number, text: str) -> Number:
        """The s with s^2 = x and s >= 0. (Equal texts have equal values: what is verified once stays so.)"""
        key = f"sqrt({text})"
        if key in self.verified:
            return self.verified[key]
        if self.sign(x) < 0:
            raise Malformed("document.number", f"the square root of a negative number: {quoted(text)}")
        s = self.candidate(key)
        return self.confirm(key, s, self.equal(s * s, x) and self.sign(s) >= 0)

    def quotient(self, y: Number, x: Number, text: str) -> Number:
        """y/x, with a reciprocal from the certificate unless x is written without alpha."""
        bare = x.bare()
        if self.sign(x) == 0:
            raise Malformed("document.number", f"a division by zero: {quoted(text)}")
        if bare is not None:
            return y * self.field.rational(1 / bare)
        key = f"1/({text})"
        if key not in self.verified:
            s = self.candidate(key)
            self.confirm(key, s, self.equal(x * s, self.field.rational(1)))
        return y * self.verified[key]

    def cosine(self, r: Fraction) -> Number:
        """cos(r pi) = T_p(c) for r = p/q and c = cos(pi/q).

        c is the only number with T_q(c) = -1 and U_0(c), ..., U_(q-2)(c) > 0, since U_(k-1)(cos t) = sin(kt)/sin(t).
        """
        q = r.denominator
        p = r.numerator % (2 * q)
        if q <= 3:
            return self.field.rational(Fraction(TWICE_COSINE[q][p], 2))
        key = f"cos(pi/{q})"
        one = self.field.rational(1)
        c = self.verified.get(key) or self.candidate(key)
        twice = c + c
        if key not in self.verified:
            before, now = self.field.rational(0), one  # U_-1, U_0
            for _ in range(q - 1):
                if self.sign(now) <= 0:
                    self.confirm(key, c, False)
                before, now = now, twice * now - before
            self.confirm(key, c, self.equal(self.chebyshev(c, q), -one))
        return self.chebyshev(c, p)

    def chebyshev(self, c: Number, k: int) -> Number:
        """T_k(c)."""
        before, now = c, self.field.rational(1)  # T_-1, T_0
        for _ in range(k):
            before, now = now, (c + c) * now - before
        return now

    def powers(self, t: Number, k: int) -> list[tuple[Number, Number]]:
        """Real and imaginary part of (1 + it)^0, ..., (1 + it)^k."""
        real, imaginary = self.field.rational(1), self.field.rational(0)
        result = [(real, imaginary)]
        for _ in range(k):
            real, imaginary = real - t * imaginary, imaginary + t * real
            result.append((real, imaginary))
        return result

    def tangent(self, r: Fraction) -> Number:
        """tan(r pi), with t = tan(pi/q) known from the powers of 1 + it, whose argument is pi/q."""
        q = r.denominator
        p = r.numerator % q
        if q == 2:
            raise Malformed("document.number", "the tangent of an odd multiple of pi/2")
        if p == 0 or q == 4:
            return self.field.rational((0, 1, 0, -1)[p])
        key = f"tan(pi/{q})"
        t = self.verified.get(key) or self.candidate(key)
        if key not in self.verified:
            powers = self.powers(t, q)
            for _, imaginary in powers[1:-1]:
                if self.sign(imaginary) <= 0:
                    self.confirm(key, t, False)
            real, imaginary = powers[-1]
            self.confirm(key, t, self.sign(imaginary) == 0 and self.sign(real) < 0)
        if p == 1:
            return t
        key = f"tan(pi*{p}/{q})"
        if key not in self.verified:
            real, imaginary = self.powers(t, p)[-1]
            u = self.candidate(key)
            self.confirm(key, u, self.sign(real) != 0 and self.equal(u * real, imaginary))
        return self.verified[key]


class NumberReader(Reader[Number]):
    """Numbers: literals, sqrt, cos, sin and tan under + - * /."""

    def __init__(self, items: list[str], evaluator: Evaluator) -> None:
        super().__init__(items)
        self.evaluator = evaluator

    def literal(self, q: Fraction) -> Number:
        return self.evaluator.field.rational(q)

    def named(self, name: str) -> Number:
        if name not in ("sqrt", "cos", "sin", "tan"):
            raise self.fault(f"expected a number, found {quoted(name)}" if name else "it ends too early")
        self.opened()
        start = self.at
        if name == "sqrt":
            x = self.expression()
            result = self.evaluator.square_root(x, "".join(self.items[start : self.at]))
        else:
            r = self.angle()
            if name == "tan":
                result = self.evaluator.tangent(r)
            else:
                result = self.evaluator.cosine(r if name == "cos" else Fraction(1, 2) - r)
        self.closed()
        return result

    def angle(self) -> Fraction:
        reader = AngleReader(self.items, self.at, self.depth)
        angle = reader.expression()
        self.at = reader.at
        if angle.plain:
            raise self.fault("an angle is not a rational multiple of pi")
        if angle.turn.denominator > DENOMINATOR:
            raise self.fault(f"an angle has a denominator beyond {DENOMINATOR}")
        return angle.turn

    def negative(self, value: Number) -> Number:
        return -value

    def combine(self, operator: str, left: Number, right: Number, text: str) -> Number:
        if operator == "+":
            return left + right
        if operator == "-":
            return left - right
        return left * right if operator == "*" else self.evaluator.quotient(left, right, text)
