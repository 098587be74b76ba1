"""Seeded texts that nobody should send: labels of every scheme mutated, and random characters."""

import random

from inventory.codes import own

LABEL = own.make("unit", 123_456)
SEEDS = [
    LABEL,
    "010952012345678810LOT7\x1d21SN0001",
    "]C1010952012345678821SN0001",
    "1021072911172405310100693570007182",
    "[)>\x1e06\x1d1PABC-1\x1d10D2617\x1dQ5\x1e05\x1d13131108\x1e\x04",
    "https://example.com/01/09520123456788/21/A1?17=261231",
    "(01)09520123456788(21)SN0001",
    "9520123456788",
    "02345673",
    '-&"\u00e0\u00e8-\u00e0\u00e0\u00e0"\u00e8-\u00e7',
]
ALPHABET = "0129AQZaz-_/()[]<>{}|^~. \x00\x1d\x1e\x04\r\n\t\u00e9\u0661\u241d\ud800\U0001f4a9"


def texts(seed, count):
    """Give `count` texts, the same for the same seed: nine of ten mutated, the rest random."""
    rng = random.Random(seed)
    for _ in range(count):
        if rng.random() < 0.1:
            yield "".join(chr(rng.choice(RANGES)(rng)) for _ in range(rng.randrange(80)))
        else:
            yield mutated(rng, rng.choice(SEEDS))


RANGES = [
    lambda rng: rng.randrange(128),
    lambda rng: rng.randrange(32, 127),
    lambda rng: rng.randrange(0x2000),
    lambda rng: rng.randrange(0x110000),  # surrogates too
]


def mutated(rng, text):
    for _ in range(rng.randrange(1, 5)):
        i = rng.randrange(len(text) + 1)
        piece = rng.choice([*ALPHABET, *"0123456789", text[: rng.randrange(8)], "01", "21", "]C1"])
        text = text[:i] + piece + text[i + rng.randrange(3) :]
    return text
