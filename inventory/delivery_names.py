"""How pages show what an event is about when it is about a delivery, a claim or a return."""

from __future__ import annotations

from collections.abc import Iterable

from django.urls import reverse

from inventory.models import Claim, Delivery, Return
from inventory.subjects import Named


def deliveries(codes: Iterable[str]) -> dict[str, Named]:
    """Name these deliveries, those that are known."""
    known = Delivery.objects.filter(code__in=list(codes)).values_list("code", "note")
    return {
        code: Named(f"Delivery {code}, note {note}", reverse("delivery", args=[code]))
        for code, note in known
    }


def claims(codes: Iterable[str]) -> dict[str, Named]:
    """Name these claims, those that are known."""
    known = Claim.objects.filter(code__in=list(codes)).values_list("code", flat=True)
    return {code: Named(f"Claim {code}", reverse("claim", args=[code])) for code in known}


def returns(codes: Iterable[str]) -> dict[str, Named]:
    """Name these returns, those that are known."""
    known = Return.objects.filter(code__in=list(codes)).values_list("code", flat=True)
    return {code: Named(f"Return {code}", reverse("return", args=[code])) for code in known}


SORTS = {"delivery": deliveries, "claim": claims, "return": returns}
