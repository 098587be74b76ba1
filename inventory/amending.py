"""The only writer of amendments: figures that people change at the desk, with who and when."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from inventory.models import Amendment, Person


def amended(
    by: Person | None, about: str, was: Mapping[str, Any], now: Mapping[str, Any]
) -> Amendment | None:
    """Note a change beside the write it is about, under the same lock; None where none was made.

    by: None where a command sets something up. was: empty where nothing was said before.
    """
    if was == now:
        return None
    return Amendment.objects.create(about=about, was=dict(was), now=dict(now), by=by)


def latest(sort: str) -> dict[str, Amendment]:
    """Return the latest amendment of each thing of a sort ("charge rule") by what it is about."""
    found = Amendment.objects.filter(about__startswith=f"{sort}:").select_related("by")
    return {change.about: change for change in found.order_by("pk")}
