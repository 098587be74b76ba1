"""Check digits and check characters of GS1 keys.

Source: GS1 General Specifications 7.9.1 (digits), 7.9.5 (pair of characters of model numbers).

>>> check_digit("629104150021")
'3'
"""

from inventory.codes.characters import is_digits

CHECKED_LENGTHS = (8, 12, 13, 14, 17, 18)
"""GTIN-8, UPC-A, EAN-13, GTIN-14, shipment number, serial shipping container code."""

# Values of the 82 characters in the order of set 82, for the pair of a model number.
ORDER82 = "!\"%&'()*+,-./0123456789:;<=>?ABCDEFGHIJKLMNOPQRSTUVWXYZ_abcdefghijklmnopqrstuvwxyz"
SET32 = "23456789ABCDEFGHJKLMNPQRSTUVWXYZ"
PRIMES = (2, 3, 5, 7, 11, 13, 17, 19, 23, 29, 31, 37, 41, 43, 47, 53, 59, 61, 67, 71, 73, 79, 83)
"""Weights from the character left of the pair leftwards."""


def check_digit(digits: str) -> str:
    """Return the check digit that follows these digits: weights 3, 1, 3... from the right."""
    total = sum(int(d) * (3, 1)[i % 2] for i, d in enumerate(reversed(digits)))
    return str(-total % 10)


def is_checked(number: str) -> bool:
    """Whether the number is digits of which the last checks the others."""
    return is_digits(number) and len(number) > 1 and check_digit(number[:-1]) == number[-1]


def check_pair(stem: str) -> str:
    """Return the two check characters of a model number (23 characters of set 82 or fewer)."""
    weighted = zip(reversed(stem), PRIMES, strict=False)
    total = sum(ORDER82.index(char) * prime for char, prime in weighted) % 1021
    return SET32[total // 32] + SET32[total % 32]
