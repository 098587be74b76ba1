"""A second factor beside the password: six digits that a program on a phone shows (RFC 6238).

Its secret is derived from the site's key and what was drawn for the person: whoever reads the
database or an archive alone cannot make codes. With another site's key only recovery codes open.
"""

from __future__ import annotations

import base64
import hashlib
import secrets
from dataclasses import dataclass
from datetime import datetime
from urllib.parse import quote, urlencode

from django.conf import settings
from django.utils import timezone
from django.utils.crypto import salted_hmac

from inventory.amending import amended
from inventory.codes import one_time
from inventory.lock import writing
from inventory.models import Person, RecoveryCode, Role, SecondFactor, SignIn

CODES = 10  # recovery codes, each of 80 random bits
ISSUER = "Lastbolt"


@dataclass(frozen=True, slots=True)
class Offer:
    """A secret that is not in use yet."""

    drawn: str
    key: str  # as people type it: groups of four
    address: str  # as the square code carries it


def of(person: Person) -> SecondFactor | None:
    """Return somebody's second factor; None where the password alone opens."""
    return SecondFactor.objects.filter(person=person).first()


def wanted_of(person: Person) -> bool:
    """Whether the firm lets this person in only with one."""
    return settings.SECOND_FACTOR == "managers" and person.has(Role.MANAGER)


def draw() -> str:
    """Return what a new secret is made of."""
    return secrets.token_hex(20)


def offer(person: Person, drawn: str) -> Offer:
    """Return the secret for a program on a phone, as RFC 4648 base32 and as an otpauth address."""
    key = base64.b32encode(_secret(drawn)).decode()
    name = quote(f"{ISSUER}:{person.username}")
    fields = urlencode({"secret": key, "issuer": ISSUER})
    grouped = " ".join(key[at : at + 4] for at in range(0, len(key), 4))
    return Offer(drawn, grouped, f"otpauth://totp/{name}?{fields}")


def switch_on(person: Person, drawn: str, typed: str, here: str | None) -> list[str]:
    """Take a drawn secret into use if its code was typed; return the recovery codes, none if not.

    Every sign-in that began without it is over, but the one of the session key `here`.
    """
    now = timezone.now()
    with writing():
        step = one_time.step_of(_secret(drawn), _plain(typed), now.timestamp(), after=0)
        if step is None or of(person) is not None:
            return []
        SecondFactor.objects.create(person=person, drawn=drawn, since=now, latest=step)
        _noted(person, by=person, was="", now=now.isoformat())
        SignIn.objects.filter(person=person).exclude(pk=here or "").delete()
        return _new_codes(person)


def fits(person: Person, typed: str, now: datetime) -> bool:
    """Whether a code of now or a recovery code was typed; whichever it was opens nothing again."""
    plain = _plain(typed)
    with writing():
        factor = of(person)
        if factor is None:
            return False
        if len(plain) != one_time.DIGITS:
            left = RecoveryCode.objects.filter(person=person, sha256=_sha256(plain))
            return left.delete()[0] > 0
        step = one_time.step_of(_secret(factor.drawn), plain, now.timestamp(), factor.latest)
        if step is None:
            return False
        SecondFactor.objects.filter(pk=factor.pk).update(latest=step)
        return True


def codes_left(person: Person) -> int:
    """Return how many recovery codes still open."""
    return RecoveryCode.objects.filter(person=person).count()


def other_codes(person: Person) -> list[str]:
    """Return new recovery codes; those until now open nothing any more."""
    with writing():
        return _new_codes(person)


def take_off(person: Person, by: Person | None, reason: str) -> bool:
    """Let the password alone open again, which ends every sign-in of the person's; noted.

    by: the person, a manager, or None for a command on the server. False where there is none.
    """
    with writing():
        factor = of(person)
        if factor is None:
            return False
        _noted(person, by, was=factor.since.isoformat(), now="", reason=reason)
        RecoveryCode.objects.filter(person=person).delete()
        factor.delete()
        SignIn.objects.filter(person=person).delete()
    return True


def _noted(person: Person, by: Person | None, was: str, now: str, reason: str = "") -> None:
    why = {"reason": reason} if reason else {}
    about = f"person:{person.username}"
    amended(by, about, {"second factor since": was}, {"second factor since": now, **why})


def _new_codes(person: Person) -> list[str]:
    RecoveryCode.objects.filter(person=person).delete()
    drawn = [base64.b32encode(secrets.token_bytes(10)).decode().lower() for _ in range(CODES)]
    rows = [RecoveryCode(person=person, sha256=_sha256(_plain(code))) for code in drawn]
    RecoveryCode.objects.bulk_create(rows)
    return ["-".join(code[at : at + 4] for at in range(0, len(code), 4)) for code in drawn]


def _plain(typed: str) -> str:
    return "".join(typed.split()).replace("-", "").upper()


def _sha256(plain: str) -> str:
    return hashlib.sha256(plain.encode()).hexdigest()


def _secret(drawn: str) -> bytes:
    return salted_hmac("inventory.second_factor", drawn, algorithm="sha1").digest()
