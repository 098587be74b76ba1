"""Passwords for one time against the tables of the RFCs that define them."""

import pytest

from inventory.codes.one_time import DRIFT, STEP, password, step_of

TWENTY = b"12345678901234567890"  # the secret of both tables, as long as its hash's result
LONGER = {"sha1": TWENTY, "sha256": (TWENTY * 2)[:32], "sha512": (TWENTY * 4)[:64]}
# Source: RFC 4226, appendix D, "HOTP" of counts 0 to 9.
COUNTED = [
    "755224",
    "287082",
    "359152",
    "969429",
    "338314",
    "254676",
    "287922",
    "162583",
    "399871",
    "520489",
]
# Source: RFC 6238, appendix B, typed from memory and held against copies of the table in public
# repositories: seconds since 1970, then the passwords by SHA1, SHA256, SHA512.
TIMED = [
    (59, "94287082", "46119246", "90693936"),
    (1111111109, "07081804", "68084774", "25091201"),
    (1111111111, "14050471", "67062674", "99943326"),
    (1234567890, "89005924", "91819424", "93441116"),
    (2000000000, "69279037", "90698825", "38618901"),
    (20000000000, "65353130", "77737706", "47863826"),
]


def test_counted() -> None:
    """Six digits each, RFC 4226."""
    assert [password(TWENTY, count) for count in range(10)] == COUNTED


@pytest.mark.parametrize(("at", "sha1", "sha256", "sha512"), TIMED)
def test_timed(at: int, sha1: str, sha256: str, sha512: str) -> None:
    """Eight digits each, steps of 30 s from 1970 on, RFC 6238."""
    found = [password(secret, at // STEP, 8, hashed) for hashed, secret in LONGER.items()]

    assert found == [sha1, sha256, sha512]


def test_a_clock_may_be_one_step_off() -> None:
    """Each way, and no further; RFC 6238 5.2 and 6 leave how many to the one who checks."""
    now = 1111111109
    here = now // STEP
    typed = {off: password(TWENTY, here + off) for off in range(-2, 3)}

    taken = {off: step_of(TWENTY, typed[off], now, after=0) for off in typed}
    assert taken == {-2: None, -1: here - 1, 0: here, 1: here + 1, 2: None}
    assert DRIFT == 1


def test_none_is_taken_again() -> None:
    """Nor one before the latest that was: RFC 6238 5.2, "MUST NOT accept the second attempt"."""
    now = 1111111109
    here = now // STEP

    assert step_of(TWENTY, password(TWENTY, here), now, after=here) is None
    assert step_of(TWENTY, password(TWENTY, here - 1), now, after=here) is None
    assert step_of(TWENTY, password(TWENTY, here + 1), now, after=here) == here + 1
