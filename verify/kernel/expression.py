"""The numbers of a document: literals and expressions, evaluated exactly with the certificate's values.

The certificate proposes the values of square roots, of cosines and tangents of
rational multiples of pi, and of reciprocals; each is verified when it is first
needed. So the number that comes out is the one that the text means, whatever
the certificate says, or there is no number.
"""

import re
from collections.abc import Callable
from fractions import Fraction
from typing import NamedTuple

from .numbers import Field, Number, coefficients
from .reading import Malformed, quoted, require

TOKEN = re.compile(r"[ \t\n]*([0-9]+(?:\.[0-9]+)?(?:[eE][+-]?[0-9]+)?|[a-z]+|[-+*/()])[ \t\n]*")
CHARACTERS = 4_000
DIGITS = 1_000  # of a literal
EXPONENT = 1_000
NESTING = 50
DENOMINATOR = 1_000  # of an angle over pi
BITS = 65_536  # of a numerator or a denominator
TWICE_COSINE = {1: (2, -2), 2: (2, 0, -2, 0), 3: (2, 1, -1, -2, -1, 1)}  # of p pi/q


def tokens(text: str) -> list[str]:
    """The tokens of an expression; their concatenation is its text in the statement."""
    require(len(text) <= CHARACTERS, "document.number", f"more than {CHARACTERS} characters", Malformed)
    result: list[str] = []
    at = 0
    while at < len(text):
        match = TOKEN.match(text, at)
        if match is None:
            raise Malformed("document.number", f"{quoted(text)}: not understood from character {at + 1} on")
        result.append(match[1])
        at = match.end()
    return result


class Evaluator:
    """Evaluates in the field with the proposed values; remembers which keys were needed and verified."""

    def __init__(self, field: Field, proposed: dict[str, Number]) -> None:
        self.field, self.proposed = field, proposed
        self.verified: dict[str, Number] = {}

    def value(self, items: list[str]) -> Number:
        reader = Reader(items, self)
        result = reader.expression()
        reader.need(reader.at == len(items), f"not understood from {quoted(reader.peek())} on")
        return result.plain

    def finish(self) -> None:
        """Assumes (and checks) that no value was proposed that the document does not need."""
        for key in self.proposed:
            require(key in self.verified, "values.unused", f"the document does not need {quoted(key)}")

    def sign(self, x: Number) -> int:
        size = max(max(c.numerator.bit_length(), c.denominator.bit_length()) for c in coefficients(x))
        require(size <= BITS, "limit", f"a number needs integers of more than {BITS} bits")
        return self.field.sign(x)

    def equal(self, x: Number, y: Number) -> bool:
        return self.sign(x - y) == 0

    def known(self, key: str, holds: Callable[[Number], bool]) -> Number:
        """The proposed value, which must pass its test. (Equal keys have equal tests: one verification is enough.)"""
        if key not in self.verified:
            require(key in self.proposed, "values.missing", f"field.values has no {quoted(key)}")
            require(holds(self.proposed[key]), "values.wrong", f"field.values[{quoted(key)}] is not that number")
            self.verified[key] = self.proposed[key]
        return self.verified[key]

    def square_root(self, x: Number, text: str) -> Number:
        """The s with s^2 = x and s >= 0."""
        require(self.sign(x) >= 0, "document.number", f"a square root of a negative number: {quoted(text)}", Malformed)
        return self.known(f"sqrt({text})", lambda s: self.equal(s * s, x) and self.sign(s) >= 0)

    def reciprocal(self, x: Number, text: str) -> Number:
        """1/x, from the certificate unless x is written without alpha."""
        require(self.sign(x) != 0, "document.number", f"a division by zero: {quoted(text)}", Malformed)
        first, *powers = coefficients(x)
        if not any(powers):
            return 1 / Fraction(first)
        return self.known(f"1/({text})", lambda s: self.equal(x * s, 1))

    def cosine(self, r: Fraction) -> Number:
        """cos(r pi) = T_p(cos(pi/q)) for r = p/q."""
        p, q = r.numerator % (2 * r.denominator), r.denominator
        if q <= 3:
            return Fraction(TWICE_COSINE[q][p], 2)
        return self.chebyshev(self.known(f"cos(pi/{q})", lambda c: self.is_cosine(c, q)), p)

    def is_cosine(self, c: Number, q: int) -> bool:
        """T_q(c) = -1 and U_0(c), ..., U_(q-2)(c) > 0: only c = cos(pi/q), since U_(k-1)(cos t) = sin(kt)/sin(t)."""
        second: list[Number] = [0, 1]
        while len(second) <= q and self.sign(second[-1]) > 0:
            second.append((c + c) * second[-1] - second[-2])
        return len(second) > q and self.equal(self.chebyshev(c, q), -1)

    def chebyshev(self, c: Number, k: int) -> Number:
        """T_k(c)."""
        result: list[Number] = [1, c]
        while len(result) <= k:
            result.append((c + c) * result[-1] - result[-2])
        return result[k]

    def tangent(self, r: Fraction) -> Number:
        """tan(r pi) for r = p/q, from t = tan(pi/q) and (1 + it)^p."""
        p, q = r.numerator % r.denominator, r.denominator
        require(q != 2, "document.number", "the tangent of an odd multiple of pi/2", Malformed)
        if p == 0 or q == 4:
            return (0, 1, 0, -1)[p]
        t = self.known(f"tan(pi/{q})", lambda t: self.is_tangent(t, q))
        if p == 1:
            return t
        x, y = self.turned(t, 1, 0)  # 1 + it
        for _ in range(p - 1):
            x, y = self.turned(t, x, y)
        return self.known(f"tan(pi*{p}/{q})", lambda u: self.sign(x) != 0 and self.equal(u * x, y))

    def is_tangent(self, t: Number, q: int) -> bool:
        """The powers of 1 + it turn by its argument each: above the axis for k = 1 ... q - 1, then on its left half."""
        x, y = self.turned(t, 1, 0)
        for _ in range(q - 1):
            if self.sign(y) <= 0:
                return False
            x, y = self.turned(t, x, y)
        return self.sign(y) == 0 and self.sign(x) < 0

    def turned(self, t: Number, x: Number, y: Number) -> tuple[Number, Number]:
        """(1 + it)(x + iy)."""
        return x - t * y, y + t * x


class Value(NamedTuple):
    """plain + turn * pi; turn is 0 outside of angles, and plain is rational in them."""

    plain: Number
    turn: Number = 0


class Reader:
    """Recursive descent over the grammar, evaluating on the way."""

    def __init__(self, items: list[str], evaluator: Evaluator) -> None:
        self.items, self.evaluator = items, evaluator
        self.at = self.depth = 0
        self.angle = False  # inside cos, sin or tan

    def need(self, holds: bool, message: str) -> None:
        require(holds, "document.number", f"{quoted(''.join(self.items))}: {message}", Malformed)

    def peek(self) -> str:
        return self.items[self.at] if self.at < len(self.items) else ""

    def take(self) -> str:
        token = self.peek()
        self.at += 1
        return token

    def group(self, angle: bool) -> tuple[Value, str]:
        """An expression in parentheses, and its text."""
        self.need(self.take() == "(", 'expected "("')
        self.need(self.depth < NESTING, f"nested more than {NESTING} deep")
        outside, start = self.angle, self.at
        self.depth, self.angle = self.depth + 1, angle
        value, text = self.expression(), "".join(self.items[start : self.at])
        self.depth, self.angle = self.depth - 1, outside
        self.need(self.take() == ")", 'expected ")"')
        return value, text

    def expression(self) -> Value:
        value = self.term()
        while self.peek() in ("+", "-"):
            sign = 1 if self.take() == "+" else -1
            right = self.term()
            value = Value(value.plain + right.plain * sign, value.turn + right.turn * sign)
        return value

    def term(self) -> Value:
        value = self.factor()
        while self.peek() in ("*", "/"):
            divides, start = self.take() == "/", self.at
            right, text = self.factor(), "".join(self.items[start : self.at])
            left, turned = self.evaluator.sign(value.turn), self.evaluator.sign(right.turn)
            self.need(not turned or not (left or divides), "a product or a quotient with pi is not an angle")
            by = self.evaluator.reciprocal(right.plain, text) if divides else right.plain
            value = Value(value.plain * by, value.turn * by + right.turn * value.plain)
            self.evaluator.sign(value.plain), self.evaluator.sign(value.turn)  # for the limit
        return value

    def factor(self) -> Value:
        sign = 1
        while self.peek() in ("+", "-"):
            sign *= 1 if self.take() == "+" else -1
        value = self.atom()
        return Value(value.plain * sign, value.turn * sign)

    def atom(self) -> Value:
        if self.peek() == "(":
            return self.group(self.angle)[0]
        token = self.take()
        if token[:1].isdigit():
            return Value(self.literal(token))
        if token == "pi" and self.angle:
            return Value(0, 1)
        known = token in ("sqrt", "cos", "sin", "tan") and not self.angle
        self.need(known, f"{quoted(token)} cannot stand here" if token else "it ends too early")
        value, text = self.group(token != "sqrt")
        if token == "sqrt":
            return Value(self.evaluator.square_root(value.plain, text))
        r, *powers = map(Fraction, coefficients(value.turn))
        self.need(not powers and self.evaluator.sign(value.plain) == 0, "an angle is not a rational multiple of pi")
        self.need(r.denominator <= DENOMINATOR, f"an angle has a denominator beyond {DENOMINATOR}")
        if token == "tan":
            return Value(self.evaluator.tangent(r))
        return Value(self.evaluator.cosine(r if token == "cos" else Fraction(1, 2) - r))

    def literal(self, token: str) -> Fraction:
        mantissa, _, exponent = token.lower().partition("e")
        self.need(sum(map(str.isdigit, token)) <= DIGITS, f"a literal has more than {DIGITS} digits")
        self.need(abs(int(exponent or "0")) <= EXPONENT, f"an exponent is beyond {EXPONENT}")
        whole, _, decimals = mantissa.partition(".")
        return int(whole + decimals) * Fraction(10) ** (int(exponent or "0") - len(decimals))
