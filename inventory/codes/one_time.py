"""Passwords for one time, from a secret and the clock: RFC 4226 (HOTP) and RFC 6238 (TOTP)."""

from __future__ import annotations

import hashlib
import hmac
from typing import Final

STEP: Final = 30  # seconds that one is shown, RFC 6238 5.2
DIGITS: Final = 6
DRIFT: Final = 1  # steps that a clock may be off, each way: RFC 6238 5.2 and 6


def password(secret: bytes, step: int, digits: int = DIGITS, hashed: str = "sha1") -> str:
    """Return the password of a step (seconds since 1970 by STEP), RFC 4226 5.3.

    hashed: sha1, sha256 or sha512; programs on phones know sha1 for certain.
    """
    mac = hmac.digest(secret, step.to_bytes(8, "big"), getattr(hashlib, hashed))
    at = mac[-1] & 0xF
    number = int.from_bytes(mac[at : at + 4], "big") & 0x7FFF_FFFF
    return str(number % 10**digits).zfill(digits)


def step_of(secret: bytes, typed: str, now: float, after: int) -> int | None:
    """Return the step whose password was typed, None if it is of none.

    now: seconds since 1970. after: the latest step that was accepted; neither it nor an earlier
    one is again (RFC 6238 5.2).
    """
    here = int(now) // STEP
    for step in range(here - DRIFT, here + DRIFT + 1):
        if step > after and hmac.compare_digest(password(secret, step), typed):
            return step
    return None
