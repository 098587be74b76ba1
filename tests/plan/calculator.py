"""A plain calculator for the arithmetic of the hand-worked tables. It knows nothing of kits.

Grammar: EXPRESSION = INTEGER; numbers, + - x / ( ) and ceil( ); every other run of letters is a
word for people and is dropped. x and / bind alike, both before + and -; numbers are exact.
"""

import math
import re
from fractions import Fraction

TOKEN = re.compile(r"\d+(?:\.\d+)?|ceil\(|[A-Za-z_,:.']+|[-+/()]|\s+|(?P<odd>.)")
SIGNS = {"x", "/", "+", "-", "(", ")", "ceil("}


class Tally:
    """One expression, read from left to right."""

    def __init__(self, text: str) -> None:
        found = list(TOKEN.finditer(text))
        odd = [token["odd"] for token in found if token["odd"]]
        if odd:
            raise ValueError(f"expected numbers, words, + - x / ( ), got {odd[0]!r} in {text!r}")
        texts = [token[0] for token in found]
        self.tokens = [t for t in texts if t in SIGNS or t[0].isdigit()]
        self.text = text

    def peek(self) -> str:
        return self.tokens[0] if self.tokens else ""

    def total(self) -> Fraction:
        value = self.product()
        while self.peek() in ("+", "-"):
            sign = self.tokens.pop(0)
            value += self.product() if sign == "+" else -self.product()
        return value

    def product(self) -> Fraction:
        value = self.figure()
        while self.peek() in ("x", "/"):
            sign, other = self.tokens.pop(0), self.figure()
            value = value * other if sign == "x" else value / other
        return value

    def figure(self) -> Fraction:
        token = self.peek()
        if not token:
            raise ValueError(f"expected a number, got the end of {self.text!r}")
        self.tokens.pop(0)
        if token in ("(", "ceil("):
            inner = self.total()
            if self.peek() != ")":
                raise ValueError(f"expected ')', got {self.peek()!r} in {self.text!r}")
            self.tokens.pop(0)
            return Fraction(math.ceil(inner)) if token == "ceil(" else inner
        if token in SIGNS:
            raise ValueError(f"expected a number, got {token!r} in {self.text!r}")
        return Fraction(token)


def calculate(line: str) -> tuple[Fraction, int]:
    """What the expression comes to, and the integer written after the equals sign."""
    expression, sign, result = line.rpartition("=")
    if not sign or not result.strip().isdigit():
        raise ValueError(f"expected EXPRESSION = INTEGER, got {line!r}")
    tally = Tally(expression)
    value = tally.total()
    if tally.tokens:
        raise ValueError(f"expected the end, got {tally.tokens[0]!r} in {line!r}")
    return value, int(result)
