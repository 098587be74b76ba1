"""What happened about a delivery, a job or a person, and where the things of it are now.

The upper house tells which of its codes are about what (`register`).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

from django.db.models import Q, QuerySet
from django.urls import reverse

from inventory import standing_now
from inventory.badges import person_by_badge
from inventory.codes import own
from inventory.codes.errors import CodeError
from inventory.codes.serials import key as serial_key
from inventory.links import told
from inventory.models import Delivery, Event, Finding, Held, Lot, Person, Return, Unit
from inventory.scanning import NO_THING
from inventory.standing_now import Stood
from inventory.tracing import MOST, Chain, chain, chain_of_lot, findings_told, seekable


@dataclass(frozen=True, slots=True)
class About:
    """What a code is about, where it is no thing."""

    kind: str  # delivery, return, job, kit, site
    name: str
    subjects: tuple[str, ...]  # of the events about it
    address: str = ""  # of its page
    events: tuple[int, ...] = ()  # that are about others too: files brought in
    units: tuple[int, ...] = ()  # of it, from those events


_FINDERS: list[Callable[[str], About | None]] = []


def register(find: Callable[[str], About | None]) -> None:
    """Let a text be looked up; the first finder that knows it counts."""
    if find not in _FINDERS:
        _FINDERS.append(find)


def look_back(text: str, *, people: bool = False) -> tuple[Chain, str]:
    """Return the chain of what a text means, and the address of its own page if it has one.

    people: whether the asker may look at what one person did.
    """
    text = seekable(text)
    found = chain(text)
    if found.kind not in ("unknown", "none", "place", *NO_THING):
        return found, ""
    batches = _batches(text.strip())
    for find in (*_FINDERS, _delivery, _return):
        about = find(text.strip())
        if about is not None:
            own = Event.objects.filter(subject__in=about.subjects)
            events = Event.objects.filter(Q(subject__in=about.subjects) | Q(pk__in=about.events))
            known = _chain(about.kind, about.name, events, _things(own, about))
            return _joined([batches, known] if batches else [known]), about.address
    if batches:
        return batches, ""
    person = _person(text.strip()) if people else None
    if person is not None:
        return _chain("person", person.name, _done_by(person)), ""
    return found, ""


def _batches(text: str) -> Chain | None:
    """Batches by the number alone; those of several items in one."""
    try:
        key = serial_key(text)
    except CodeError:
        return None
    found = Lot.objects.filter(key__in={key, key.upper()}).exclude(number="")
    chains = [chain_of_lot(lot) for lot in found.select_related("item").order_by("item__code")]
    return _joined(chains) if chains else None


def _joined(chains: list[Chain]) -> Chain:
    """Several things that go by one code in one chain; none hides another."""
    if len(chains) == 1:
        return chains[0]
    links = dict.fromkeys(link for one in chains for link in one.links)
    return replace(
        chains[0],
        name=" and ".join(one.name for one in chains),
        links=tuple(sorted(links, key=lambda link: link.number)),
        holds=tuple(hold for one in chains for hold in one.holds),
        findings=tuple(dict.fromkeys(words for one in chains for words in one.findings)),
        cut=any(one.cut for one in chains),
        things=tuple(row for one in chains for row in one.things),
    )


def _delivery(text: str) -> About | None:
    """A delivery by its code, or by the number on the paper if that is only one."""
    known = Delivery.objects.select_related("supplier")
    found = list(known.filter(code__iexact=text)[:1] or known.filter(note=text)[:2])
    if len(found) != 1:
        return None
    (one,) = found
    claims = [claim.subject for claim in one.claims.all()]
    return About("delivery", f"Delivery {one}", (one.subject, *claims))


def _return(text: str) -> About | None:
    """What comes back by its code, or by the label of ours on it."""
    known = Return.objects.filter(event__reversed_by=None)
    named = Q(code__iexact=text)
    if own.is_valid(text) and own.parse(text).kind == "return":
        named |= Q(pk=own.parse(text).number)
    back = known.filter(named).first()
    if back is None:
        return None
    address = reverse("return", args=[back.code])
    return About("return", f"Return {back.code}", (back.subject,), address)


def _person(text: str) -> Person | None:
    """Somebody by badge or name; two of one name are told by their sign-in name only."""
    badged = person_by_badge(text)
    if badged is not None:
        return badged
    found = list(Person.objects.filter(Q(username=text) | Q(name__iexact=text))[:2])
    return found[0] if len(found) == 1 else None


def _done_by(person: Person) -> QuerySet[Event]:
    """What was sent at somebody's sign-in and what was scanned by somebody's hands, the newest.

    Each by its own index: joined in one condition a database reads every event there is.
    """
    signed = Event.objects.filter(person=person).order_by("-number").values_list("pk", flat=True)
    held = Held.objects.filter(person=person).order_by("-event").values_list("event", flat=True)
    return Event.objects.filter(pk__in={*signed[:MOST], *held[:MOST]})


def _chain(kind: str, name: str, events: QuerySet[Event], things: tuple[Stood, ...] = ()) -> Chain:
    newest = list(events.order_by("-number").values_list("pk", flat=True)[:MOST])
    # What somebody did in years is without end; of the rest nothing is left out but old events.
    whole = events.order_by().values_list("pk", flat=True) if kind != "person" else newest
    return Chain(
        kind=kind,
        name=name,
        stands=(),
        evidence="",
        links=told(newest),
        holds=(),
        findings=findings_told(Finding.objects.filter(event__in=whole)),
        breaks=(),
        cut=len(newest) >= MOST,
        things=things,
    )


def _things(events: QuerySet[Event], about: About) -> tuple[Stood, ...]:
    """Where the single things that these events moved are now, and those that came in a file."""
    moved = Unit.objects.filter(movements__event__in=events.order_by().values("pk")).values("pk")
    return standing_now.of_units(Unit.objects.filter(Q(pk__in=moved) | Q(pk__in=about.units)))
