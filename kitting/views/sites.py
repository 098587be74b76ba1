"""Sites: what stands there, the jobs done there, what others fitted, starting from what stands."""

from __future__ import annotations

from typing import Any
from urllib.parse import urlencode

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_safe

from inventory.access import needs, person_of
from inventory.models import Person, Role
from inventory.once import once
from kitting import packing, planning, recalled, starting, surveying
from kitting.access import at_desk, jobs_of, site_at, sites_of
from kitting.change_forms import AnswersForm, FamilyForm, SiteChangeForm, SiteForm, StartForm
from kitting.drawing import drawing_of_site
from kitting.models import Job, JobKind, Site, Survey
from kitting.packing import Reason, Refused
from kitting.queries import ever_stood_at, stands_at
from kitting.travelling import spots_of_survey

PAGE = 100  # sites
SMALL = (JobKind.SWAP, JobKind.REMOVAL)  # jobs whose answers all come from what stands


@require_http_methods(["GET", "HEAD", "POST"])
@once
def sites(request: HttpRequest) -> HttpResponse:
    """The sites a person may know of, `q` searches them; the manager enters a new one."""
    person = person_of(request)
    may_enter = person.has(Role.MANAGER)
    if request.method == "POST" and not may_enter:
        raise Http404
    form = SiteForm(request.POST or None) if may_enter else None
    if request.method == "POST" and form is not None and form.is_valid():
        made = packing.open_site(**form.cleaned_data)
        return redirect("site", code=made.place.code)
    search = request.GET.get("q", "").strip()[:60]
    found = sites_of(person).named(search).select_related("place").order_by("-pk")
    page = Paginator(found, PAGE).get_page(request.GET.get("page"))
    context = {"page": page, "search": search, "form": form}
    return render(request, "kitting/sites.html", context)


@require_http_methods(["GET", "HEAD", "POST"])
@once
def site(request: HttpRequest, code: str) -> HttpResponse:
    """One site: address, what stands there, its jobs; what can be started from there.

    The manager changes or erases its name, its address and the number to call there.
    """
    person = person_of(request)
    found = site_at(person, code)
    leads = person.has(Role.MANAGER)
    if request.method == "POST" and not leads:
        raise Http404
    now = {"name": found.name, "address": found.address, "phone": found.phone}
    form = SiteChangeForm(request.POST or None, initial=now) if leads else None
    if request.method == "POST" and form is not None and form.is_valid():
        packing.change_site(found, **form.cleaned_data)
        return redirect("site", code=code)
    context = {
        "site": found,
        "stands": stands_at(found.place),
        "gone": ever_stood_at(found.place).exclude(until=None),
        "drawing": drawing_of_site(found),
        "recalled": recalled.at_site(found.place),
        "unseen": recalled.unseen_at(found.place),
        "jobs": jobs_of(person).filter(site=found).order_by("-date", "-code"),
        "starts": _starts(found) if leads else (),
        "form": form,
        "may_describe": person.has(Role.MANAGER, Role.TECHNICIAN),
    }
    return render(request, "kitting/site.html", context)


def _starts(found: Site) -> list[tuple[str, str]]:
    """(words, address) of each job that can start from what stands."""
    if not stands_at(found.place).exists():
        return []
    grow = urlencode(starting.prefill(found, JobKind.EXPANSION))
    begun = [("Add modules", f"{reverse('job_new')}?{grow}")]
    for kind, words in ((JobKind.SWAP, "Swap units"), (JobKind.REMOVAL, "Take it down")):
        begun.append((words, reverse("site_start", args=[found.place.code, kind.value])))
    return begun


@require_http_methods(["GET", "HEAD", "POST"])
@needs(Role.MANAGER)
@once
def site_start(request: HttpRequest, code: str, kind: str) -> HttpResponse:
    """Start a swap or a removal: all answers come from what stands, only the visit is asked."""
    found = site_at(person_of(request), code)
    stands = starting.standing(found)
    if kind not in SMALL or stands is None:
        raise Http404
    rows = starting.swap_places(found) if kind == JobKind.SWAP else None
    begin = planning.first_answers(person_of(request), {}, timezone.localdate())
    form = StartForm(rows, request.POST or None, initial=begin)
    refused: tuple[Reason, ...] = ()
    if request.method == "POST" and form.is_valid():
        try:
            job = _started(person_of(request), found, kind, stands, form)
        except Refused as refusal:
            refused = refusal.reasons
        else:
            messages.success(request, f"{job.code} is planned and its kit is worked out.")
            return redirect("job", code=job.code)
    context = {
        "site": found,
        "form": form,
        "refused": refused,
        "swap": kind == JobKind.SWAP,
        "stands": stands_at(found.place),
        "drawing": drawing_of_site(found),
    }
    return render(request, "kitting/site_start.html", context)


def _started(
    person: Person, found: Site, kind: str, stands: starting.Standing, form: StartForm
) -> Job:
    given: dict[str, Any] = form.cleaned_data
    asked = {
        "family": stands.edition.name,
        "job": kind,
        "stacks": stands.stacks,
        **starting.answers_for(stands),
    }
    if kind == JobKind.SWAP:
        asked["swap"] = form.swapped()
    return planning.plan_whole(
        by=person,
        site=found,
        site_name="",
        address="",
        date=given["date"],
        configuration=asked,
        van=given["van"],
        crew=given["crew"],
        leaves_at=None,
    )


@require_http_methods(["GET", "HEAD", "POST"])
@needs(Role.MANAGER, Role.TECHNICIAN)
@once
def site_describe(request: HttpRequest, code: str) -> HttpResponse:
    """Describe a stack that others fitted: system, stacks, answers."""
    person = person_of(request)
    found, known = site_at(person, code), planning.known_families()
    name = request.POST.get("family") or request.GET.get("family", "")
    family = known.get(name)
    form = AnswersForm(family, request.POST or None) if family else None
    refused: tuple[Reason, ...] = ()
    if "save" in request.POST and form is not None and form.is_valid():
        try:
            surveying.describe(found, form.configuration({"family": name}), person)
            return redirect("site_found", code=code)
        except Refused as refusal:
            refused = refusal.reasons
    context = {
        "site": found,
        "family": family,
        "families": FamilyForm(known, initial={"family": name}),
        "form": form,
        "refused": refused,
    }
    return render(request, "kitting/site_describe.html", context)


@require_safe
@needs(Role.MANAGER, Role.TECHNICIAN)
def site_found(request: HttpRequest, code: str) -> HttpResponse:
    """Enter what stands at each place: tap the place, scan the thing or type its serial."""
    found = site_at(person_of(request), code)
    survey = Survey.objects.filter(site=found).select_related("edition").order_by("-pk").first()
    if survey is None:
        return redirect("site_describe", code=code)
    context = {
        "site": found,
        "subject": f"site:{found.place.code}",
        "drawing": drawing_of_site(found),
        "places": spots_of_survey(survey),
        "revisions": surveying.revisions_of(survey),
        "desk": at_desk(person_of(request)),
    }
    return render(request, "kitting/site_found.html", context)
