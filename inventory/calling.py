"""Whom to call about a thing away from the depot: the upper house knows crews and sites."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime

from django.db.models import Prefetch, QuerySet

from inventory.models import Event, Hold, NoticeCall, NoticeUnseen, Person, Place, PlaceKind
from inventory.scanning import UP
from inventory.subjects import Named, named

GOT = "notice_got"  # a phone's own event: it has shown the recall


@dataclass(frozen=True, slots=True)
class Contact:
    """Somebody who can be called."""

    name: str
    phone: str  # "" if nobody entered one
    words: str  # why they: "crew of J1042, today"
    person: int | None = None  # id of one of ours, who has a phone of ours


Where = tuple[Place, str]  # a place, and the subject it is about or ""
Asks = Callable[[Sequence[Where]], Sequence[Sequence[Contact]]]
_ASKED: list[Asks] = []


def register(asks: Asks) -> None:
    """Let `asks` say who is with what stands at places or is about subjects, one list for each."""
    if asks not in _ASKED:
        _ASKED.append(asks)


def contacts(at: Sequence[Where]) -> list[list[Contact]]:
    """Return for each of these who can be called about what is there, best first."""
    found: list[list[Contact]] = [[] for _ in at]
    for asks in _ASKED:
        for here, more in zip(found, asks(at), strict=True):
            here.extend(more)
    return found


@dataclass(frozen=True, slots=True)
class Call:
    """One line of the call list."""

    call: NoticeCall
    about: Named | None  # the kit or site
    contacts: tuple[Contact, ...]
    holds: tuple[Hold, ...]
    unseen: tuple[NoticeUnseen, ...]  # named, and nobody has seen them
    got: tuple[tuple[str, datetime], ...]  # whose phone has shown it, since when

    @property
    def since(self) -> int:
        """Ledger number of the last thing it is about."""
        return _since(self.call)

    @property
    def answered(self) -> bool:
        """Whether somebody told them or they said so."""
        return hasattr(self.call, "answer")


def calls(found: Iterable[NoticeCall]) -> list[Call]:
    """Return these calls with what a page shows of them."""
    rows = list(found)
    shown = named({_about(row) for row in rows})
    phones = _phones({row.notice.subject for row in rows})
    made: list[Call] = []
    for row, who in zip(rows, contacts([(row.place, row.subject) for row in rows]), strict=True):
        holds = tuple(row.holds.all())
        names = {one.person: one.name for one in who}
        got = _got(phones[row.notice.subject], _since(row), names)
        unseen = tuple(row.unseen.all())
        made.append(Call(row, shown.get(_about(row)), tuple(who), holds, unseen, got))
    return made


def _since(call: NoticeCall) -> int:
    held = [hold.event.number for hold in call.holds.all()]
    return max([*held, *(one.event.number for one in call.unseen.all())], default=0)


def _about(call: NoticeCall) -> str:
    """The kit, or the site that the upper house can name."""
    at_site = call.place.kind == PlaceKind.SITE
    return call.subject or (f"site:{call.place.code}" if at_site else "")


def _phones(subjects: set[str]) -> dict[str, list[Event]]:
    found: dict[str, list[Event]] = defaultdict(list)
    events = Event.objects.filter(step=GOT, subject__in=subjects, reversed_by=None)
    for event in events.order_by("number"):
        found[event.subject].append(event)
    return found


def _got(
    events: Sequence[Event], since: int, names: dict[int | None, str]
) -> tuple[tuple[str, datetime], ...]:
    """Only what a phone showed after the last of these things was set aside counts."""
    first: dict[int, datetime] = {}
    for event in events:
        if event.number > since and event.person_id in names:
            first.setdefault(event.person_id, event.received_at)
    return tuple((names[pk], at) for pk, at in first.items())


_WHOLE = ("event", "unit__item", "unit__place", "lot__item", "place", "release__event")


def open_calls() -> list[NoticeCall]:
    """Return the calls nobody has answered, oldest first."""
    found = NoticeCall.objects.filter(answer=None, notice__end=None)
    return list(_whole(found.order_by("event__number", "number")))


def calls_of(notice: int) -> list[NoticeCall]:
    """Return all calls of one recall, open ones first."""
    found = _whole(NoticeCall.objects.filter(notice=notice).order_by("number"))
    return sorted(found, key=lambda call: hasattr(call, "answer"))


def _whole(rows: QuerySet[NoticeCall]) -> QuerySet[NoticeCall]:
    around = ("notice", "answer__event__person", "event", f"place__{UP}")
    holds = Hold.objects.order_by("pk").select_related(*_WHOLE)
    unseen = NoticeUnseen.objects.order_by("pk").select_related("event", "item")
    rows = rows.prefetch_related(Prefetch("holds", holds), Prefetch("unseen", unseen))
    return rows.select_related(*around)


def open_for(person: Person) -> list[Call]:
    """Return the open calls that reach this person."""
    return [call for call in calls(open_calls()) if _reaches(call, person)]


def _reaches(call: Call, person: Person) -> bool:
    return any(contact.person == person.pk for contact in call.contacts)
