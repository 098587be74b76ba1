"""UUID version 7 (RFC 9562 section 5.7): 48 bits of Unix milliseconds, then random bits.

Python 3.11 to 3.13 have no uuid7 of their own. Ids name things; order never rests on them.
"""

import secrets
import time
import uuid


def uuid7(milliseconds: int | None = None, randomness: int | None = None) -> uuid.UUID:
    """Return a version 7 UUID.

    milliseconds: Unix time in ms, 0 .. 2**48-1; now when not given.
    randomness: 74 bits; fresh ones when not given (a seeded walk gives its own).
    """
    stamp = time.time_ns() // 1_000_000 if milliseconds is None else milliseconds
    bits = secrets.randbits(74) if randomness is None else randomness
    high, low = bits >> 62, bits & ((1 << 62) - 1)
    return uuid.UUID(int=(stamp << 80) | (7 << 76) | (high << 64) | (2 << 62) | low)
