"""What of the upper house counts in the digest, table by table."""

from __future__ import annotations

from collections.abc import Iterable

from inventory.digest import Row, Section, numbered
from kitting import families
from kitting.models import (
    AsBuilt,
    BagPart,
    BusReading,
    Carried,
    ChargeReading,
    CheckSigned,
    FamilyEdition,
    HandedOver,
    HandLine,
    Installed,
    Job,
    Kit,
    KitChange,
    KitLine,
    LeadPin,
    LeadWord,
    MadeBag,
    OwnBag,
    Package,
    PartRequest,
    PartRequestStep,
    Pin,
    RunChoice,
    ScreenReading,
    Serving,
    Site,
    Substitute,
    SubstituteEnd,
    Survey,
    Ticked,
    Turn,
    VanFacts,
    VanOut,
    Whereabouts,
)

STANDING = (
    "site__code",
    "stack",
    "level",
    "role",
    "unit__item__code",
    "unit__serial_key",
    "item__code",
    "number",
    "firmware",
    "fitted_on",
    "since__uid",
    "until__uid",
)
"""Columns of what stands at a site, by names that are the same in every database."""


def _crews() -> Iterable[Row]:
    return Job.crew.through.objects.values_list("job__code", "person__username")


def _jobs() -> Iterable[Row]:
    rows = Job.objects.values_list(
        "code",
        "kind",
        "site__place__code",
        "date",
        "leaves_at",
        "van__code",
        "configuration",
        "before",
        "planned_by__username",
        "brought_by__uid",
        "cancelled_at",
    )
    return ((*row, cancelled is not None) for *row, cancelled in rows)


def _kits() -> Iterable[Row]:
    rows = Kit.objects.values_list(
        "code",
        "job__code",
        "revision",
        "edition__sha256",
        "snapshot",
        "worked_out_by__username",
        "released_by__username",
        "closed_by__uid",
        "letter",
        "released_at",
    )
    return ((*row, released is not None) for *row, released in rows.iterator(chunk_size=100))


def _lines() -> Iterable[Row]:
    return KitLine.objects.values_list(
        "kit__code",
        "item__code",
        "step",
        "quantity",
        "unit",
        "order",
        "spare",
        "reasons",
        "pieces",
        "alternatives",
    )


def _hands() -> Iterable[Row]:
    """Changes by hand have no name of their own: each is numbered within its job."""
    rows = HandLine.objects.order_by("pk").values_list(
        "job__code",
        "pk",
        "reverses",
        "item__code",
        "step",
        "verb",
        "quantity",
        "pieces",
        "reason",
        "by__username",
        "substitute__instead__code",
    )
    numbers: dict[int, int] = {}
    for job, number, pk, undone, *rest in numbered(rows):
        numbers[pk] = number
        yield (job, number, numbers.get(undone), *rest)


def _kit_changes() -> Iterable[Row]:
    names = ("kit__code", "number", "kind", "reason", "by__username")
    told = ("old_snapshot", "new_snapshot", "difference")
    return KitChange.objects.values_list(*names, *told).iterator(chunk_size=100)


def _packages() -> Iterable[Row]:
    names = ("kit__code", "kind", "step", "number", "place__code", "van__code")
    return Package.objects.values_list(*names)


def _stands() -> Iterable[Row]:
    return AsBuilt.objects.values_list(*STANDING)


def _installed() -> Iterable[Row]:
    return Installed.objects.values_list(
        "event__uid",
        "site__code",
        "stack",
        "level",
        "role",
        "unit__item__code",
        "unit__serial_key",
        "item__code",
        "batch",
        "made_on",
        "fitted_on",
        "number",
        "firmware",
    )


def _surveys() -> Iterable[Row]:
    rows = Survey.objects.order_by("pk").values_list(
        "site__place__code", "edition__sha256", "configuration", "positions", "by__username"
    )
    return numbered(rows)


def _readings() -> Iterable[Row]:
    return ChargeReading.objects.values_list(
        "event__uid", "kit__code", "unit__item__code", "unit__serial_key", "stack", "percent"
    )


def _shown() -> Iterable[Row]:
    names = ("event__uid", "kit__code", "unit__item__code", "unit__serial_key")
    return ScreenReading.objects.values_list(*names, "ends", "number", "firmware", "photo")


def _measured() -> Iterable[Row]:
    return BusReading.objects.values_list("event__uid", "kit__code", "bus", "ohm")


def _handed_over() -> Iterable[Row]:
    return HandedOver.objects.values_list("event__uid", "kit__code", "photo", "note")


def _ticked() -> Iterable[Row]:
    return Ticked.objects.values_list("event__uid", "kit__code", "stack", "key", "photo")


def _whereabouts() -> Iterable[Row]:
    names = ("event__uid", "item__code", "box_of__code", "words", "photo")
    return Whereabouts.objects.values_list(*names)


def _editions() -> Iterable[Row]:
    used = families.in_use(FamilyEdition.objects.only("name", "edition", "current_from"))
    rows = FamilyEdition.objects.values_list(
        "pk", "name", "edition", "status", "sha256", "made_current_by__username"
    )
    return ((*row, pk in used) for pk, *row in rows)


def _checks() -> Iterable[Row]:
    names = ("kit__code", "question", "need", "item__code", "quantity", "words", "by__username")
    return CheckSigned.objects.values_list(*names)


def _vans() -> Iterable[Row]:
    return VanFacts.objects.values_list(
        "place__code",
        "gross_kg",
        "ready_kg",
        "with_driver",
        "persons",
        "fitted_kg",
        "wheelbase_mm",
        "load_at_mm",
        "entered_by__username",
    )


def _vans_out() -> Iterable[Row]:
    rows = VanOut.objects.order_by("pk")
    return numbered(rows.values_list("van__code", "first", "last", "reason", "by__username"))


def _leads() -> Iterable[Row]:
    return LeadPin.objects.values_list("person__username", "by__username")


def _lead_words() -> Iterable[Row]:
    rows = LeadWord.objects.order_by("pk").values_list(
        "stopped__uid", "lead__username", "reason", "by__username", "used__event__uid"
    )
    return numbered(rows)


def _carried() -> Iterable[Row]:
    rows = Carried.objects.order_by("pk").values_list(
        "place__code", "item__code", "least", "up_to", "by__username"
    )
    return numbered(rows)


def _own_bags() -> Iterable[Row]:
    return OwnBag.objects.values_list("person__username", "place__code", "by__username")


def _pins() -> Iterable[Row]:
    names = ("kit__code", "unit__item__code", "unit__serial_key", "reason", "by__username")
    return Pin.objects.values_list(*names, "reverses__reason")


def _run_choices() -> Iterable[Row]:
    rows = RunChoice.objects.values_list("way", "reason", "by__username")
    return [(number, *row) for number, row in enumerate(rows)]


def _servings() -> Iterable[Row]:
    numbers: dict[int, int] = {}
    rows = Serving.objects.values_list("pk", "way", "whole", "at_most", "by__username")
    for number, (pk, *told) in enumerate(rows):
        numbers[pk] = number
        yield number, *told
    for pk, code, place in Turn.objects.values_list("serving", "kit__code", "place"):
        yield numbers[pk], code, place


def _substitutes() -> Iterable[Row]:
    names = ("item__code", "instead__code", "takes", "each", "most", "since", "until", "reason")
    limits = ("families", "editions", "regions", "needs")
    return Substitute.objects.values_list(*names, "decided_by__username", *limits)


def _ended() -> Iterable[Row]:
    names = ("item__code", "instead__code", "reason")
    told = [f"substitute__{name}" for name in names]
    return SubstituteEnd.objects.values_list(*told, "reason", "by__username")


def _bags() -> Iterable[Row]:
    told = BagPart.objects.values_list(
        "content__bag__code", "content__since", "content__by__username", "item__code", "quantity"
    )
    made = MadeBag.objects.values_list(
        "place__code", "content__bag__code", "content__since", "event__uid"
    )
    return [*told, *made]


def _requests() -> Iterable[Row]:
    thing = ("item__code", "unit__item__code", "unit__serial_key", "place__code", "quantity")
    rows = PartRequest.objects.values_list("code", "event__uid", "kit__code", "why", *thing)
    told = ("kind", "brings__username", "due", "words")
    steps = PartRequestStep.objects.values_list("request__code", "event__uid", *told)
    return [*rows, *steps]


SECTIONS: dict[str, Section] = {
    "as built": _stands,
    "bags made ahead": _bags,
    "carried on vans": _carried,
    "charge readings": _readings,
    "bus readings": _measured,
    "screen readings": _shown,
    "checks signed": _checks,
    "crews": _crews,
    "editions": _editions,
    "hand lines": _hands,
    "handed over": _handed_over,
    "ticked": _ticked,
    "installed before": _installed,
    "jobs": _jobs,
    "kit changes": _kit_changes,
    "kit lines": _lines,
    "kits": _kits,
    "leads": _leads,
    "leads' words": _lead_words,
    "own bags": _own_bags,
    "packages": _packages,
    "parts asked for": _requests,
    "sites": lambda: Site.objects.values_list("place__code", "time_zone", "brought_by__uid"),
    "surveys": _surveys,
    "vans' papers": _vans,
    "vans out of service": _vans_out,
    "whereabouts": _whereabouts,
    "pins": _pins,
    "run choices": _run_choices,
    "turns": _servings,
    "substitutes": _substitutes,
    "substitutes ended": _ended,
}
