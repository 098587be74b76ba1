"""Kits at the bench: to pick, to load, their labels, their printed list."""

from collections import Counter

from django.contrib import messages
from django.db.models import QuerySet
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_safe

from inventory import teaching, two_claims
from inventory.access import needs, person_of
from inventory.labelling import of_place
from inventory.labels.errors import LabelRefused
from inventory.models import Person, Place, Role
from inventory.once import once
from inventory.queries import latest_mark
from inventory.views.labels import drawn
from kitting import (
    changing,
    donors,
    explaining,
    kit_label,
    other_ways,
    overviews,
    packing,
    parcels,
    rechecking,
    requesting,
    signing,
    sourcing,
    tools_due,
    travelling,
    whereto,
)
from kitting.access import at_desk, kit_read, kit_write
from kitting.drawing import drawing_of
from kitting.list_forms import CheckForm
from kitting.models import Kit, Package
from kitting.other_ways import Choice
from kitting.progress import fold
from kitting.queries import findings_of
from kitting.views.closed import while_open

LONGEST = 120  # characters of an item's code or name


@require_safe
@needs(Role.WAREHOUSE, Role.MANAGER)
def kits(request: HttpRequest) -> HttpResponse:
    """Kits to pick and to load, those that leave first first."""
    rows = overviews.kits_to_pick(person_of(request))
    days = Counter(row.job.date for row in rows)
    together = [(day, count) for day, count in sorted(days.items()) if count > 1]
    return render(
        request,
        "kitting/kits.html",
        {"rows": rows, "days": together, "due": tools_due.due(timezone.localdate())},
    )


@require_safe
@needs(Role.WAREHOUSE, Role.MANAGER)
def kit(request: HttpRequest, code: str) -> HttpResponse:
    """The kit as a list by step, to read and to print."""
    found = kit_write(person_of(request), code)
    progress = fold(found)
    context = {
        "kit": found,
        "job": found.job,
        "steps": overviews.steps_of(found, progress),
        "drawing": drawing_of(found, progress),
        "findings": (findings := list(findings_of(found, claims=True))),
        "claims": two_claims.told(findings),
        "given": donors.given(found),
        "labels": _label_codes(found),
        **overviews.changes_about(found),
    }
    return render(request, "kitting/kit.html", context)


@require_safe
def kit_why(request: HttpRequest, code: str) -> HttpResponse:
    """Why so many of an item, or why none; for the desk and the job's crew."""
    found = kit_read(person_of(request), code)
    asked = request.GET.get("item", "").strip()[:LONGEST]
    told = explaining.told(found, asked) if asked else None
    context = {
        "kit": found,
        "job": found.job,
        "asked": asked,
        "told": told,
        "others": _others(found, told),
        "choices": explaining.choices(found),
        "desk": at_desk(person_of(request)),
    }
    return render(request, "kitting/kit_why.html", context)


def _others(kit: Kit, told: explaining.Told | None) -> list[Choice]:
    """What would reach as well, where the item that is asked about is short."""
    if told is None or told.why is None or not kit.is_open:
        return []
    short = [s.item for s in sourcing.shortages(kit) if s.item.code == told.why.item]
    return other_ways.when_short(kit, short)


@require_safe
@needs(Role.WAREHOUSE, Role.MANAGER)
@while_open(kit_write, "kit")
def kit_pick(request: HttpRequest, kit: Kit) -> HttpResponse:
    """The picking walk: what is still to be taken, in the order of the bins."""
    packages = parcels.with_use(kit.packages.exclude(kind=Package.Kind.LOAD))
    packed = list(packages.order_by("kind", "number"))
    walk = overviews.walk(kit)
    items = {row.line.item_id: row.line.item for row in walk.progress.lines}
    context = {
        "kit": kit,
        "job": kit.job,
        "walk": walk,
        "could_be": sorted(items.values(), key=lambda item: item.name),
        "parcel": parcels.packed_now(packed),
        "mark": latest_mark(),
        "unknown": teaching.unknown_codes(kit.subject),
        "packages": packed,
        "labels": "\n".join([kit_label.code_of(kit), *sorted(p.place.code for p in packed)]),
    }
    return render(request, "kitting/kit_pick.html", context)


@require_safe
@needs(Role.WAREHOUSE, Role.MANAGER)
@while_open(kit_write, "kit")
def kit_load(request: HttpRequest, kit: Kit) -> HttpResponse:
    """What goes on the van, one scan each."""
    loads = travelling.loads_of(kit)
    loaded = sum(load.loaded for load in loads)
    context = {"kit": kit, "job": kit.job, "loads": loads, "loaded": loaded}
    context["again"] = rechecking.of_kit(kit)
    context["lacking"] = requesting.not_aboard(kit) if kit.is_open else []
    context["people"] = Person.objects.filter(is_active=True).order_by("name")
    return render(request, "kitting/kit_load.html", context)


@require_safe
@needs(Role.WAREHOUSE, Role.MANAGER)
@while_open(kit_write, "kit")
def kit_unload(request: HttpRequest, kit: Kit) -> HttpResponse:
    """What comes off a van, one scan each."""
    context = {
        "kit": kit,
        "job": kit.job,
        "going": whereto.of_kit(kit, timezone.localdate()),
        "again": rechecking.of_kit(kit),
    }
    return render(request, "kitting/kit_unload.html", context)


@require_safe
@needs(Role.WAREHOUSE, Role.MANAGER)
def kit_labels(request: HttpRequest, code: str) -> HttpResponse:
    """The labels of the kit, its parcels and its bags as one PDF."""
    found = kit_write(person_of(request), code)
    places = _labelled(found)
    if not places:
        return render(request, "kitting/kit_unreleased.html", {"kit": found}, status=409)
    try:
        return drawn([kit_label.of_kit(found), *map(of_place, places)], "pdf", 203)
    except LabelRefused as refusal:  # a name of older days that no printer prints
        context = {"title": "A label cannot be drawn", "words": str(refusal)}
        return render(request, "kitting/refused.html", context, status=409)


def _labelled(kit: Kit) -> QuerySet[Place]:
    """What of a kit bears a label of ours."""
    places = Place.objects.filter(package__kit=kit).exclude(package__kind=Package.Kind.LOAD)
    return places.select_related("parent").order_by("code")


def _label_codes(kit: Kit) -> list[str]:
    """What to print the labels of a kit by: its own, its parcels', bags' and bay's."""
    return [kit_label.code_of(kit), *_labelled(kit).values_list("code", flat=True)]


@require_http_methods(["GET", "HEAD", "POST"])
@needs(Role.WAREHOUSE, Role.MANAGER)
@once
def kit_checks(request: HttpRequest, code: str) -> HttpResponse:
    """What the parts list leaves to a person: each is signed before the kit goes out."""
    person = person_of(request)
    found = kit_write(person, code)
    form, fault = CheckForm(request.POST or None), ""
    if request.method == "POST" and form.is_valid():
        given = form.cleaned_data
        try:
            found = changing.sign_check(
                found,
                given["question"],
                person,
                item=given["item"],
                quantity=given["quantity"] or 0,
                words=given["words"],
            )
        except (signing.NotSigned, packing.Refused) as error:
            fault = str(error)
        else:
            messages.success(request, "Signed.")
            return redirect("kit_checks", code=found.code)
    asked = form.data.get("question", "")
    context = {"kit": found, "job": found.job, "checks": signing.checks(found), "form": form}
    return render(request, "kitting/kit_checks.html", context | {"fault": fault, "asked": asked})
