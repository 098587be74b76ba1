"""The technician's pages: my jobs, and one job from the van to the empty kit."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from inventory.access import needs, person_of
from inventory.models import Role
from kitting import (
    bus_measuring,
    claim_facts,
    day_steps,
    handing_over,
    joining,
    looking_for,
    netting,
    overviews,
    problems,
    recalled,
    requesting,
    screens,
    standing_list,
    ticking,
    travelling,
    van_loading,
    whereabouts,
)
from kitting.access import own_kit_read
from kitting.drawing import drawing_of
from kitting.models import Kit
from kitting.progress import fold
from kitting.queries import comes_back, findings_of, left_of, stands_at
from kitting.tallies import Progress
from kitting.views.closed import while_open

HANDLING: Final = "look"
"""The step of plan/tables/cautions.csv before anything is mounted."""


@require_safe
@needs(Role.TECHNICIAN)
def my_jobs(request: HttpRequest) -> HttpResponse:
    """The jobs on whose crew this person is, today's first."""
    person, today = person_of(request), timezone.localdate()
    context = {
        "rows": overviews.jobs_of_crew(person, today),
        "today": today,
        "recalls": recalled.unread(person),
    }
    return render(request, "kitting/my_jobs.html", context)


@require_safe
@needs(Role.TECHNICIAN)
def my_bag(request: HttpRequest) -> HttpResponse:
    """What the own bag always carries beside what is in it; who stocks it changes it."""
    bag = standing_list.bag_of(person_of(request))
    levels = standing_list.levels(bag, timezone.localdate()) if bag is not None else []
    return render(request, "kitting/my_bag.html", {"bag": bag, "levels": levels})


@require_safe
@needs(Role.TECHNICIAN)
def my_job(request: HttpRequest, code: str) -> HttpResponse:
    """One job: what is missing first, then the stack, the steps with their cautions, closing."""
    kit = own_kit_read(person_of(request), code)
    progress = fold(kit)
    context = _about(kit, progress) | {
        "steps": overviews.steps_of(kit, progress),
        "drawing": drawing_of(kit, progress),
        "trouble": overviews.in_trouble(progress),
        "unpacked": overviews.not_packed(progress),
        "travels": looking_for.travels_of(kit),
        "findings": findings_of(kit),
        "recalls": recalled.unread(person_of(request)),
        "day": day_steps.of(kit.job.kind),
    }
    return render(request, "kitting/my_job.html", context)


@require_safe
@needs(Role.TECHNICIAN)
@while_open(own_kit_read, "my_job")
def my_load(request: HttpRequest, kit: Kit) -> HttpResponse:
    """Take the van over: each parcel and box seen on it by one scan, of all visits of its day."""
    person = person_of(request)
    loads, van = travelling.loads_of(kit), kit.job.van
    turns = van_loading.turns(van, kit.job.date, person) if van is not None else []
    context = _about(kit, None, "my_load") | {
        "loads": loads,
        "loaded": sum(load.loaded for load in loads),
        "turns": turns if len(turns) > 1 and kit in [turn.kit for turn in turns] else (),
        "left": sum(turn.left for turn in turns),
        "lacking": requesting.not_aboard(kit),
        "cautions": _handling(kit),
    }
    return render(request, "kitting/my_load.html", context)


@require_safe
@needs(Role.TECHNICIAN)
@while_open(own_kit_read, "my_job")
def my_unbox(request: HttpRequest, kit: Kit) -> HttpResponse:
    """See each thing again at the site, and where the rest travels."""
    packages, brought = travelling.contents_of(kit), netting.told(kit)
    items = {thing.item.pk: thing.item.code for group in packages for thing in group.things}
    lies = whereabouts.told(kit, {*items, *(one.content.item_id for one in brought)})
    context = _about(kit, None, "my_unbox") | {
        "packages": packages,
        "lies": {code: lies[pk, 0] for pk, code in items.items() if (pk, 0) in lies},
        "brought": [(one, _in_box(lies, one)) for one in brought],
        "cautions": _handling(kit),
        "keeps_boxes": claim_facts.boxes_to_keep(kit),
    }
    return render(request, "kitting/my_unbox.html", context)


@require_safe
@needs(Role.TECHNICIAN)
@while_open(own_kit_read, "my_job")
def my_fit(request: HttpRequest, kit: Kit) -> HttpResponse:
    """Choose a place on the drawing, then scan the unit that stands there."""
    progress = fold(kit)
    places = travelling.spots_of(kit)
    context = _about(kit, progress, "my_fit") | {
        "drawing": drawing_of(kit, progress),
        "places": places,
        "begun": any(place.taken for place in places),
        "steps": overviews.steps_of(kit, progress),
        "charge": joining.asked_of(kit),
        "ticks": ticking.wanted_of(kit),
        "why_not": ticking.WHY_NOT,
    }
    return render(request, "kitting/my_fit.html", context)


@require_safe
@needs(Role.TECHNICIAN)
@while_open(own_kit_read, "my_job")
def my_start(request: HttpRequest, kit: Kit) -> HttpResponse:
    """Start up: the ohms of the data lines, and what the screen shows beside what was scanned."""
    context = _about(kit, None, "my_start") | {
        "lines": bus_measuring.lines_of(kit),
        "bus_caution": bus_measuring.CAUTION,
        "caution": screens.CAUTION,
        "compared": screens.compare(kit),
    }
    return render(request, "kitting/my_start.html", context)


@require_safe
@needs(Role.TECHNICIAN)
@while_open(own_kit_read, "my_job")
def my_down(request: HttpRequest, kit: Kit) -> HttpResponse:
    """Take down: what stands there, what comes back, one scan for each unit."""
    context = _about(kit, None, "my_down") | {
        "stands": stands_at(kit.job.site.place),
        "back": comes_back(kit),
        "steps": overviews.steps_of(kit, fold(kit)),
        "ticks": ticking.wanted_of(kit),
        "why_not": ticking.WHY_NOT,
        "signs": problems.SIGNS,
    }
    return render(request, "kitting/my_down.html", context)


@require_safe
@needs(Role.TECHNICIAN)
@while_open(own_kit_read, "my_job")
def my_swap(request: HttpRequest, kit: Kit) -> HttpResponse:
    """Swap: the old unit out, the new one in, by one pair of scans."""
    progress, places = fold(kit), travelling.swaps_of(kit)
    context = _about(kit, progress, "my_swap") | {
        "drawing": drawing_of(kit, progress),
        "places": places,
        "serials": " ".join(place.serial for place in places if place.serial),
        "steps": overviews.steps_of(kit, progress),
        "charge": joining.asked_of(kit),
        "ticks": ticking.wanted_of(kit),
        "why_not": ticking.WHY_NOT,
        "signs": problems.SIGNS,
    }
    return render(request, "kitting/my_swap.html", context)


@require_safe
@needs(Role.TECHNICIAN)
@while_open(own_kit_read, "my_job")
def my_back(request: HttpRequest, kit: Kit) -> HttpResponse:
    """Bring back what is left, and close the kit when nothing of it is."""
    left = left_of(kit)
    first: dict[str, int] = {}  # places of one name stand together: the boxes of one item
    for one in left:
        first[one.place.name] = min(one.place.pk, first.get(one.place.name, one.place.pk))
    left.sort(key=lambda one: first[one.place.name])
    context = _about(kit, None) | {
        "left": left,
        "signed": handing_over.signed(kit),
        "unticked": [one for one in ticking.wanted_of(kit) if one.row is None],
    }
    return render(request, "kitting/my_back.html", context)


@require_safe
@needs(Role.TECHNICIAN)
@while_open(own_kit_read, "my_job")
def my_missing(request: HttpRequest, kit: Kit) -> HttpResponse:
    """Look first where it travels and who packed it; then what waits for it and who has one."""
    context = _about(kit, None) | {
        "sought": looking_for.sought(kit),
        "findings": findings_of(kit),
    }
    return render(request, "kitting/my_missing.html", context)


@require_safe
@needs(Role.TECHNICIAN)
@while_open(own_kit_read, "my_job")
def my_problem(request: HttpRequest, kit: Kit) -> HttpResponse:
    """Tell what is missing, damaged, wrong or one too many; what can be chosen is listed."""
    context = _about(kit, None) | {
        "things": travelling.choices_of(kit),
        "signs": problems.SIGNS,
        "chosen": request.GET.get("thing", ""),
        "findings": findings_of(kit),
    }
    return render(request, "kitting/my_problem.html", context)


def _in_box(
    lies: Mapping[tuple[int, int], whereabouts.Lies], one: netting.Brought
) -> whereabouts.Lies | None:
    return lies.get((one.content.item_id, one.content.box_of_id))


def _handling(kit: Kit) -> list[dict[str, str]]:
    """The cautions of what is carried and opened; those of the work itself stand at its page."""
    return [caution for caution in kit.snapshot["cautions"] if caution["step"] == HANDLING]


def _about(kit: Kit, progress: Progress | None, page: str = "") -> dict[str, Any]:
    """page: name of the route, of a page from which the work goes on to the next."""
    return {
        "kit": kit,
        "job": kit.job,
        "progress": progress,
        "goes_on": day_steps.after(kit.job.kind, page),
        "recalled": recalled.in_kit(kit),
        "unseen": recalled.unseen_at(kit.job.site.place),
    }
