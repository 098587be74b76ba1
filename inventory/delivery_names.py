"""How pages show what an event is about: a delivery, a claim, a return or a recall."""

from __future__ import annotations

from collections.abc import Iterable

from django.urls import reverse

from inventory.models import Claim, Delivery, Notice, Return
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


def notices(codes: Iterable[str]) -> dict[str, Named]:
    """Name these recalls, those that are known."""
    known = Notice.objects.filter(code__in=list(codes)).values_list("code", "letter")
    return {
        code: Named(f"Recall {code}, letter {letter}", reverse("notice", args=[code]))
        for code, letter in known
    }


SORTS = {"delivery": deliveries, "claim": claims, "return": returns, "notice": notices}
