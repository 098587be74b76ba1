"""What the pages about deliveries, claims and partners list."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from django.db.models import Count, Exists, OuterRef, QuerySet

from inventory.claims import dues_of, open_ones, partner_of
from inventory.models import Claim, ClaimDue, ClaimStep, Delivery, Partner


@dataclass(frozen=True, slots=True)
class Due:
    """A claim with what is still to be told and what was done."""

    claim: Claim
    partner: Partner | None  # whom it is put to now
    due: tuple[ClaimDue, ...]  # not told yet, the earliest first
    steps: tuple[ClaimStep, ...]

    @property
    def first(self) -> datetime | None:
        """When the next clock ends, None if all were told or there is none."""
        return self.due[0].at if self.due else None

    @property
    def closed(self) -> bool:
        """Whether nothing is asked any more."""
        return any(step.closes for step in self.steps)


def delivery_list() -> QuerySet[Delivery]:
    """Deliveries, newest first, with how many claims of each are open."""
    closed = ClaimStep.objects.filter(claim=OuterRef("claims__pk"), closes=True)
    still = Count("claims", filter=~Exists(closed), distinct=True)
    rows = Delivery.objects.select_related("supplier", "carrier", "dock").order_by("-pk")
    return rows.annotate(open_claims=still)


def claims_due(delivery: Delivery | None = None) -> list[Due]:
    """Return the open claims, or all of one delivery, the earliest clock first."""
    claims = delivery.claims.all() if delivery else open_ones()
    whole = claims.select_related("partner", "delivery", "event__person")
    steps = ("dues", "steps__event__reversed_by", "steps__partner")
    found = [due_of(claim) for claim in whole.prefetch_related(*steps)]
    return sorted(found, key=lambda one: (one.closed, one.first is None, str(one.first)))


def due_of(claim: Claim) -> Due:
    """Return a claim with what is still to be told and what was done."""
    steps = tuple(claim.steps.all())
    told = {s.how for s in steps if s.how and not hasattr(s.event, "reversed_by")}
    dues = tuple(due for due in dues_of(claim) if due.how not in told)
    return Due(claim, partner_of(claim), () if any(step.closes for step in steps) else dues, steps)


def partners_with_clocks() -> Sequence[Partner]:
    """Suppliers and carriers with their clocks."""
    return list(Partner.objects.prefetch_related("clocks", "needs"))
