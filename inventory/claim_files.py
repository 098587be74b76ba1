"""A claim as one file to send, by its code. The upper house writes it: it has the sheet."""

from __future__ import annotations

from collections.abc import Callable

from inventory.models import Claim

Written = Callable[[Claim, str], bytes]
_WRITES: list[Written] = []


class NoClaim(ValueError):
    """There is no such claim, or none that stands."""


def register(writes: Written) -> None:
    """Let `writes` make the file of a claim; its second argument is the sheet's size."""
    if writes not in _WRITES:
        _WRITES.append(writes)


def name_of(claim: Claim) -> str:
    """Return the file's name."""
    return f"claim-{claim.code}.zip"


def claim_of(code: str) -> Claim:
    """Return the claim of this code. Raises NoClaim."""
    found = Claim.objects.filter(code__iexact=code.strip()).select_related("unit", "lot", "partner")
    claim = found.select_related("event", "delivery").first()
    if claim is None:
        raise NoClaim(f"claim: expected the code of one, such as D1-1 or C1, got {code!r}")
    if hasattr(claim.event, "reversed_by"):
        raise NoClaim(f"claim: expected one that stands, got {claim.code}: its opening was undone")
    return claim


def packed(claim: Claim, size: str = "A4") -> bytes:
    """Return the claim as a ZIP."""
    [writes] = _WRITES
    return writes(claim, size)
