"""The numbers of a document: literals and expressions, evaluated exactly with the certificate's values.

The certificate proposes the values of square roots, of cosines and tangents of rational multiples of pi, and of
reciprocals; each is verified when it is first needed. So the number that comes out is the one that the text means,
whatever the certificate says, or there is no number.
"""

import re
from collections.abc import Callable
from fractions import Fraction

from .numbers import Field, Number, numerators
from .reading import Malformed, quoted, require

TOKEN = re.compile(r"[0-9]+(?:\.[0-9]+)?(?:[eE][+-]?[0-9]+)?|[a-z]+|[-+*/()]")
CHARACTERS = 4_000
DIGITS = 1_000  # of a literal
EXPONENT = 1_000
NESTING = 50
DENOMINATOR = 1_000  # of an angle over pi
COSINES: dict[int, Number] = {1: -1, 2: 0, 3: Fraction(1, 2)}  # of pi/q
Value = tuple[Number, Number]  # a, b for a + b pi; b is 0 outside of angles, and both are rational in them


def tokens(text: str) -> list[str]:
    """The tokens of an expression; their concatenation is its text in the statement."""
    require(len(text) <= CHARACTERS, "document.number", f"more than {CHARACTERS} characters", Malformed)
    items = TOKEN.findall(text)
    known = "".join(items) == re.sub("[ \t\n]", "", text)
    require(known, "document.number", f"{quoted(text)}: has characters that stand in no number", Malformed)
    return items


class Evaluator:
    """Recursive descent over the grammar, evaluating in the field on the way with the proposed values."""

    def __init__(self, field: Field, proposed: dict[str, Number]) -> None:
        self.field, self.proposed = field, proposed
        self.verified: set[str] = set()  # the keys that were needed
        self.items, self.at, self.depth, self.angle = [""], 0, 0, False  # angle: inside cos, sin or tan

    def value(self, items: list[str]) -> Number:
        self.items, self.at = [*items, ""], 0
        result, _ = self.expression()
        self.need(self.at == len(items), f"not understood from {quoted(self.items[self.at])} on")
        return result

    def finish(self) -> None:
        """Assumes (and checks) that no value was proposed that the document does not need."""
        unused = sorted(self.proposed.keys() - self.verified)
        require(not unused, "values.unused", f"the document does not need {', '.join(map(quoted, unused[:9]))}")

    def known(self, key: str, holds: Callable[[Number], bool]) -> Number:
        """The proposed value, which must pass its test. (Equal keys have equal tests: one verification is enough.)"""
        if key not in self.verified:
            require(key in self.proposed, "values.missing", f"field.values has no {quoted(key)}")
            require(holds(self.proposed[key]), "values.wrong", f"field.values[{quoted(key)}] is not that number")
            self.verified.add(key)
        return self.proposed[key]

    def square_root(self, x: Number, text: str) -> Number:
        """The s with s^2 = x and s >= 0."""
        self.need(self.field.sign(x) >= 0, f"a square root of a negative number: {quoted(text)}")
        return self.known(f"sqrt({text})", lambda s: self.field.sign(s * s - x) == 0 and self.field.sign(s) >= 0)

    def reciprocal(self, x: Number, text: str) -> Number:
        """1/x, from the certificate unless x is written without alpha."""
        self.need(self.field.sign(x) != 0, f"a division by zero: {quoted(text)}")
        first, *powers = numerators(x)
        if not any(powers):
            return Fraction(x.denominator, first)
        return self.known(f"1/({text})", lambda s: self.field.sign(x * s - 1) == 0)

    def chebyshev(self, c: Number, second: Number, k: int) -> list[Number]:
        """The numbers s_0 = 1, s_1 = second, ..., s_k with s_(i+1) = 2 c s_i - s_(i-1)."""
        result = [1, second]
        while len(result) <= k:
            result.append(self.field.limited((c + c) * result[-1] - result[-2]))
        return result

    def cosine(self, r: Fraction) -> Number:
        """cos(r pi) = T_p(cos(pi/q)) for r = p/q."""
        p, q = r.numerator % (2 * r.denominator), r.denominator
        c = COSINES[q] if q in COSINES else self.known(f"cos(pi/{q})", lambda c: self.is_cosine(c, q))
        return self.chebyshev(c, c, p)[p]

    def is_cosine(self, c: Number, q: int) -> bool:
        """T_q(c) = -1 and U_0(c), ..., U_(q-2)(c) > 0: only c = cos(pi/q), since U_(k-1)(cos t) = sin(kt)/sin(t)."""
        first, second = self.chebyshev(c, c, q), self.chebyshev(c, c + c, q - 2)
        return all(self.field.sign(u) > 0 for u in second) and self.field.sign(first[q] + 1) == 0

    def sine(self, r: Fraction) -> Number:
        """sin(r pi) = cos((1/2 - r) pi)."""
        return self.cosine(Fraction(1, 2) - r)

    def tangent(self, r: Fraction) -> Number:
        """tan(r pi) = sin(2 r pi) / (1 + cos(2 r pi))."""
        self.need(r.denominator != 2, "the tangent of an odd multiple of pi/2")
        return self.sine(2 * r) * self.reciprocal(self.cosine(2 * r) + 1, f"1+cos(pi*{2 * r % 2})")

    def need(self, holds: bool, message: str) -> None:
        require(holds, "document.number", f"{quoted(''.join(self.items))}: {message}", Malformed)

    def take(self, *allowed: str) -> str:
        """The next token if it is one of these; if not, none is taken."""
        token = self.items[self.at] if self.items[self.at] in allowed else ""
        self.at += token != ""
        return token

    def expression(self) -> Value:
        plain, turn = self.term()
        while self.items[self.at] in ("+", "-"):  # which the next term takes as a sign
            more, turned = self.term()
            plain, turn = plain + more, turn + turned
        return plain, turn

    def term(self) -> Value:
        plain, turn = self.factor()
        while operator := self.take("*", "/"):
            start = self.at
            by, turned = self.factor()
            angle = self.field.sign(turned) == 0 or (operator == "*" and self.field.sign(turn) == 0)
            self.need(angle, "a product or a quotient with pi is not an angle")
            if operator == "/":
                by = self.reciprocal(by, "".join(self.items[start : self.at]))
            plain, turn = self.field.limited(plain * by), self.field.limited(turn * by + turned * plain)
        return plain, turn

    def factor(self) -> Value:
        sign = 1
        while operator := self.take("+", "-"):
            sign *= 1 if operator == "+" else -1
        plain, turn = self.atom()
        return plain * sign, turn * sign

    def group(self) -> Value:
        """An expression in parentheses."""
        self.need(self.take("(") != "" and self.depth < NESTING, f'expected "(", at most {NESTING} deep')
        self.depth += 1
        value = self.expression()
        self.depth -= 1
        self.need(self.take(")") != "", 'expected ")"')
        return value

    def atom(self) -> Value:
        token, start = self.items[self.at], self.at + 2
        if token == "(":
            return self.group()
        self.at += 1
        if token[:1].isdigit():
            self.need(sum(map(str.isdigit, token)) <= DIGITS, f"a literal has more than {DIGITS} digits")
            exponent = abs(int(token.lower().partition("e")[2] or "0"))
            self.need(exponent <= EXPONENT, f"an exponent is beyond {EXPONENT}")
            self.field.work.spend((len(token) + exponent) // 16)
            return Fraction(token), 0
        if token == "pi" and self.angle:
            return 0, 1
        known = token in ("sqrt", "cos", "sin", "tan") and not self.angle
        self.need(known, f"{quoted(token)} cannot stand here" if token else "it ends too early")
        self.angle = token != "sqrt"
        plain, turn = self.group()
        self.angle = False
        if token == "sqrt":
            return self.square_root(plain, "".join(self.items[start : self.at - 1])), 0
        self.need(self.field.sign(plain) == 0, "an angle is not a rational multiple of pi")
        r = Fraction(numerators(turn)[0], turn.denominator)  # inside an angle all numbers are rational
        self.need(r.denominator <= DENOMINATOR, f"an angle has a denominator beyond {DENOMINATOR}")
        function = {"cos": self.cosine, "sin": self.sine, "tan": self.tangent}[token]
        return function(r), 0
