"""What crews asked the depot for and what follows them: open, taken, on its way, come."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from django.db.models import Exists, OuterRef, Prefetch, QuerySet
from django.utils import timezone

from inventory.models import Person
from inventory.words import amount
from kitting.models import Job, Kit, PartRequest, PartRequestStep

Kind = PartRequestStep.Kind
OVER = frozenset({Kind.COME, Kind.DROPPED})


@dataclass(frozen=True, slots=True)
class Asked:
    """A request with what became of it."""

    request: PartRequest
    taken_by: Person | None  # None: it rings
    answer: PartRequestStep | None  # the latest that says who brings it, or how it follows
    end: PartRequestStep | None  # it came, or nobody needs it

    @property
    def over(self) -> bool:
        """Whether it has come, or is not needed."""
        return self.end is not None

    @property
    def rings(self) -> bool:
        """Whether nobody has taken it."""
        return self.taken_by is None and self.answer is None and not self.over

    @property
    def state(self) -> str:
        """One word for a page: rings, taken, follows, come or dropped."""
        if self.end is not None:
            return str(self.end.kind)
        if self.answer is not None:
            return "follows"
        return "taken" if self.taken_by else "rings"

    @property
    def what(self) -> str:
        """What is asked for."""
        return what(self.request)

    @property
    def due(self) -> datetime | None:
        """When it will be there."""
        return self.answer.due if self.answer else None

    @property
    def words(self) -> str:
        """How it stands, in words without a full stop."""
        if self.end is not None:
            why = f": {self.end.words}" if self.end.words else ""
            return f"{self.end.get_kind_display()}{why}"
        if self.answer is None:
            return (
                f"{self.taken_by.name} sees to it" if self.taken_by else "nobody has taken it yet"
            )
        return ", ".join(part for part in (self._who, self._when, self.answer.words) if part)

    @property
    def _who(self) -> str:
        brings = self.answer.brings if self.answer else None
        return f"{brings.name} brings it" if brings else ""

    @property
    def _when(self) -> str:
        if self.due is None:
            return ""
        at = timezone.localtime(self.due)
        today = at.date() == timezone.localdate()
        return f"{at:%H:%M}" if today else f"{at:%a %-d %b %H:%M}"


def what(request: PartRequest) -> str:
    """Say what is asked for."""
    if request.unit is not None:
        return str(request.unit)
    if request.item is not None:
        return amount(request.quantity, request.item)
    return request.place.name if request.place else "something"


def _asked(requests: QuerySet[PartRequest]) -> list[Asked]:
    standing = PartRequestStep.objects.filter(event__reversed_by=None).order_by("pk")
    steps = Prefetch(
        "steps", standing.select_related("event__person", "brings"), to_attr="standing"
    )
    rows = requests.filter(event__reversed_by=None).order_by("pk")
    rows = rows.select_related("item", "unit__item", "place", "event__person", "kit__job__site")
    return [_one(row) for row in rows.prefetch_related(steps)]


def _one(request: PartRequest) -> Asked:
    taken = answer = end = None
    steps: list[PartRequestStep] = request.standing  # type: ignore[attr-defined]
    for step in steps:
        if step.kind == Kind.TAKEN:
            taken = step.event.person
        elif step.kind == Kind.ANSWERED:
            answer = step
        else:
            end = step
    return Asked(request, taken, answer, end)


def of_kit(kit: Kit) -> list[Asked]:
    """Return all that was asked for of a kit, oldest first."""
    return _asked(PartRequest.objects.filter(kit=kit))


def open_ones() -> list[Asked]:
    """Return what has not come, of every open kit: what rings first, then the oldest."""
    rows = _asked(_unfinished().filter(kit__closed_by=None, kit__job__cancelled_at=None))
    return sorted(rows, key=lambda one: not one.rings)


def awaits(about: str) -> Exists:
    """Whether something has to come: a column beside a question that is asked anyway.

    about: "kit" or "kit__job", whichever the question is about.
    """
    return Exists(_unfinished().filter(kit__closed_by=None, **{about: OuterRef("pk")}))


def following(jobs: Iterable[Job]) -> dict[int, list[Asked]]:
    """Return job id -> what has not come yet of its kits, in one question for all of them."""
    wanted = list(jobs)
    if not wanted:
        return {}
    found: dict[int, list[Asked]] = {}
    for one in _asked(_unfinished().filter(kit__job__in=wanted, kit__closed_by=None)):
        found.setdefault(one.request.kit.job_id, []).append(one)
    return found


def _unfinished() -> QuerySet[PartRequest]:
    ends = PartRequestStep.objects.filter(kind__in=OVER, event__reversed_by=None)
    over = Exists(ends.filter(request=OuterRef("pk")))
    return PartRequest.objects.filter(~over, event__reversed_by=None)
