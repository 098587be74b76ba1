"""Reading questions about kits and sites: what is left, what stands, what came to pass."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass

from django.db.models import Exists, Q, QuerySet

from inventory import two_claims
from inventory.models import Event, Finding, Holding, Item, Movement, Place, Tracking, Unit
from inventory.overviews import numbered
from inventory.words import amount
from kitting.models import AsBuilt, HandLine, Kit, Site
from kitting.progress import places_of, taken_down
from kitting.shelves import in_its_places


@dataclass(frozen=True, slots=True)
class Left:
    """Something of a kit that is neither fitted, used nor back."""

    item: Item
    quantity: int  # base units
    place: Place
    unit: Unit | None = None

    def __str__(self) -> str:
        if self.unit is not None:
            return str(self.unit)
        return amount(self.quantity, self.item)


@dataclass(frozen=True, slots=True)
class Told:
    """One event of a kit as a person reads it."""

    event: Event
    sentence: str  # what the server decided last
    verdict: str
    undone: bool


@dataclass(frozen=True, slots=True)
class Freed:
    """What comes back from a site by the plan."""

    item: Item | None  # None: the catalogue lacks it
    code: str
    quantity: int  # base units
    taken_down: int  # units so far


def left_of(kit: Kit) -> list[Left]:
    """Return what is left of a kit in its parcels, bags and bay, and loose at its site.

    What another open kit brought to the same site is that one's.
    """
    site = kit.job.site.place
    places = {place.pk: place for place in [*places_of(kit), site]}
    beside = Exists(open_beside(kit))
    units = Unit.objects.filter(place__in=places).annotate(shared=beside)
    units = units.select_related("item").order_by("item__code", "pk")
    left = [Left(unit.item, 1, places[unit.place_id or 0], unit) for unit in units]
    holdings = Holding.objects.filter(place__in=places, quantity__gt=0)
    holdings = holdings.exclude(lot__item__tracking=Tracking.SERIAL).annotate(shared=beside)
    held = list(holdings.select_related("lot__item").order_by("lot__item__code", "pk"))
    loose: list[Unit | Holding] = [*units, *held]
    if any(one.place_id == site.pk and getattr(one, "shared", False) for one in loose):
        theirs = _brought_by_others(kit, site)
        left = [one for one in left if one.unit is None or one.unit.pk not in theirs.units]
        for holding in held:
            if holding.place_id == site.pk:
                holding.quantity = max(holding.quantity - theirs.lots[holding.lot_id], 0)
    left += [
        Left(holding.lot.item, holding.quantity, places[holding.place_id])
        for holding in held
        if holding.quantity
    ]
    return left


def open_beside(kit: Kit) -> QuerySet[Kit]:
    """Return the other open kits of the same site."""
    kits = Kit.objects.filter(job__site=kit.job.site_id, closed_by=None).exclude(pk=kit.pk)
    return kits.filter(released_at__isnull=False)


@dataclass(frozen=True, slots=True)
class _Theirs:
    """What lies loose at a site and was brought there by other open kits."""

    units: set[int]  # ids
    lots: Counter[int]  # id -> base units


def _brought_by_others(kit: Kit, site: Place) -> _Theirs:
    """By the last movement of each unit, and by what came and went of each batch."""
    others = [other.subject for other in open_beside(kit).only("code")]
    moves = Movement.objects.filter(Q(from_place=site) | Q(to_place=site))
    moves = moves.filter(event__subject__in=[kit.subject, *others])
    moves = moves.filter(event__reversed_by=None, event__reversal=None)
    units: dict[int, str] = {}
    lots: dict[str, Counter[int]] = {other: Counter() for other in others}
    told = ("unit", "lot", "quantity", "to_place", "event__subject")
    for unit, lot, quantity, to, subject in moves.order_by("pk").values_list(*told):
        if unit is not None:
            units[unit] = subject
        elif subject in lots:
            lots[subject][lot] += quantity if to == site.pk else -quantity
    brought: Counter[int] = Counter()
    for some in lots.values():
        brought.update({lot: quantity for lot, quantity in some.items() if quantity > 0})
    return _Theirs({pk for pk, subject in units.items() if subject != kit.subject}, brought)


def stands_at(site: Place) -> QuerySet[AsBuilt]:
    """Return what stands at a site now, stack by stack from below."""
    rows = AsBuilt.objects.filter(site=site, until=None).select_related(
        "unit__item", "item", "since"
    )
    return rows.order_by("stack", "level")


def ever_stood_at(site: Place) -> QuerySet[AsBuilt]:
    """Return what stands or stood at a site, oldest first."""
    rows = AsBuilt.objects.filter(site=site).select_related("unit__item", "item", "since", "until")
    return rows.order_by("stack", "level", "since__number")


def before(site: Site) -> list[dict[str, int]]:
    """Return the stacks that stand at a site as a configuration has them: [{"modules": 2}, ...]."""
    counts: dict[int, int] = {}
    for row in stands_at(site.place):
        counts[row.stack] = counts.get(row.stack, 0) + (row.role == "unit")
    return [{"modules": counts.get(number, 0)} for number in range(1, max(counts, default=0) + 1)]


def comes_back(kit: Kit) -> list[Freed]:
    """Return what an expansion or removal frees, with the units taken down so far."""
    lines: Iterable[dict[str, str]] = kit.snapshot["comes_back"]
    quantities: dict[str, int] = {}
    for line in lines:
        quantities[line["item"]] = quantities.get(line["item"], 0) + int(line["quantity"])
    items = {item.code: item for item in Item.objects.filter(code__in=quantities)}
    down = list(Unit.objects.filter(pk__in=taken_down(kit)).values_list("item__code", flat=True))
    return [
        Freed(items.get(code), code, quantity, down.count(code))
        for code, quantity in quantities.items()
    ]


@dataclass(frozen=True, slots=True)
class Proposal:
    """The same change by hand on several jobs: something for the next edition of a family."""

    family: str
    item: Item
    step: str
    verb: str  # add, drop or change
    quantities: tuple[int, ...]  # base units of each, in the order of the changes
    jobs: tuple[str, ...]  # codes, oldest first
    reasons: tuple[str, ...]


def repeated_hand_changes(least: int = 3) -> list[Proposal]:
    """Return changes by hand that came up on `least` jobs or more, most often first."""
    rows = HandLine.objects.filter(reverses=None, reversed_by=None)
    groups: dict[tuple[str, int, str, str], list[HandLine]] = {}
    for row in rows.select_related("item", "job").order_by("pk"):
        family = str(row.job.configuration.get("family", ""))
        groups.setdefault((family, row.item_id, row.step, row.verb), []).append(row)
    found = [
        Proposal(
            family,
            rows_[0].item,
            step,
            verb,
            tuple(row.quantity for row in rows_),
            tuple(dict.fromkeys(row.job.code for row in rows_)),
            tuple(dict.fromkeys(row.reason for row in rows_)),
        )
        for (family, _, step, verb), rows_ in groups.items()
    ]
    often = [proposal for proposal in found if len(proposal.jobs) >= least]
    return sorted(often, key=lambda proposal: -len(proposal.jobs))


def story(kit: Kit) -> list[Told]:
    """Return the events about a kit in ledger order, each with what was decided last."""
    events = Event.objects.filter(
        Q(subject=kit.subject) | Q(reversal__reversed__subject=kit.subject)
    )
    events = events.select_related("person", "scan", "reversed_by").prefetch_related("outcomes")
    told = []
    for event in events.order_by("number"):
        last = max(event.outcomes.all(), key=lambda outcome: outcome.number)
        told.append(Told(event, last.sentence, last.verdict, hasattr(event, "reversed_by")))
    return told


def open_problems(kit: Kit) -> QuerySet[Finding]:
    """Return the open problems about a kit, oldest first."""
    found = Finding.objects.filter(subject=kit.subject, answer=None)
    return found.select_related("unit__item", "item", "place", "event__person").order_by("pk")


def findings_of(kit: Kit, *, claims: bool = False) -> QuerySet[Finding]:
    """Return the problems about a kit, each with `settled`; open ones first, then the newest.

    claims: for the office, with what other jobs claim of what this one has.
    """
    about = Q(subject=kit.subject)
    if claims:
        ours = in_its_places(kit, "place__") | in_its_places(kit, "unit__place__")
        ours |= Q(place__subject=kit.subject)
        ours |= Q(unit__positions__until=None, unit__positions__since__subject=kit.subject)
        about |= Q(pk__in=Finding.objects.filter(ours, two_claims.open_ones()).values("pk"))
    found = numbered(Finding.objects.filter(about))
    found = found.annotate(settled=Q(answer__isnull=False)).order_by("settled", "-pk")
    return found.select_related("event__person", "answer", "unit__item")
