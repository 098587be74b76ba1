"""The configuration editor: a job is planned while its stack is drawn and its limits watched."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django import forms
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from inventory.access import needs, person_of
from inventory.models import Person, Role
from inventory.once import once
from kitting import draft as drafts
from kitting import planning
from kitting.draft import Draft
from kitting.forms import PREFIX, JobForm, begun, site_of
from kitting.models import JobKind, Site
from kitting.packing import Reason, Refused
from kitting.plan.family import Family
from kitting.planning import Remembered
from kitting.questions import base_units, turned

Known = Mapping[str, Family]
ON_ERROR = ("ask", "turn")  # buttons that only go on asking


@dataclass(frozen=True, slots=True)
class Row:
    """One question with what is said about its answer."""

    name: str  # of the field
    field: forms.BoundField | None  # None: it does not arise now
    says: tuple[str, ...] = ()  # what is against the answer
    note: str = ""  # how it was read
    kept: str = ""  # answered before it ceased to arise

    @property
    def question(self) -> str:
        """As the page names its place."""
        return self.name.removeprefix(PREFIX)


@require_http_methods(["GET", "HEAD", "POST"])
@needs(Role.MANAGER)
def job_new(request: HttpRequest) -> HttpResponse:
    """Ask for a job's data; store it with its kit, or say every reason against it at once.

    What the address gives (?site=STE00003&family=tower&stacks=4, 4) fills the form.
    """
    person, known = person_of(request), planning.known_families()
    if request.method != "POST" or any(press in request.POST for press in ON_ERROR):
        form, earlier = started(person, known, request)
        return shown(request, form, drafts.of(form, earlier), known)
    return _sent(request, person, known)


@once
def _sent(request: HttpRequest, person: Person, known: Known) -> HttpResponse:
    form = JobForm(known, request.POST)
    refused: tuple[Reason, ...] = ()
    if form.is_valid():
        try:
            job = _planned(person, form)
        except Refused as refusal:
            refused = refusal.reasons
        else:
            messages.success(request, f"{job.code} is planned and its kit is worked out.")
            return redirect("job", code=job.code)
    return shown(request, form, drafts.of(form, {}), known, refused)


def started(
    person: Person, known: Known, request: HttpRequest, initial: Mapping[str, Any] | None = None
) -> tuple[JobForm, dict[str, Remembered]]:
    """Return the form as it stands, its gaps filled from earlier jobs, and those answers.

    initial: what the form holds before the person does anything (see JobForm).
    """
    sent = request.method == "POST"
    held = typed(request.POST if sent else request.GET)
    first = {} if sent else planning.first_answers(person, known, timezone.localdate())
    begin = {**first, **(initial or {}), **held}
    family = known.get(str(begin.get("family", "")))
    if family is None:
        return JobForm(known, initial=begin), {}
    site = site_of(str(begin.get("site", "")))
    earlier = planning.remembered(person, family, site)
    if _moved(begin, family, site):
        begin = {n: v for n, v in begin.items() if not n.startswith(PREFIX) or _fits(family, n, v)}
    filled = {f"{PREFIX}{name}": one.text for name, one in earlier.items()}
    stacks = {"stacks": str(begin.get("stacks") or family.bounds.modules[0])}
    return JobForm(known, initial={**filled, **begin, **stacks}), earlier


def typed(data: Any) -> dict[str, Any]:
    """What a browser sent, as a form's `initial` has it; a press of + or - is carried out."""
    held = begun(data)
    if "turn" in held:
        held |= turned({n: str(held.get(n, "")) for n in ("stacks", "before")}, held["turn"])
    return held


def _fits(family: Family, name: str, text: Any) -> bool:
    """Whether an answer given to another family, or for another site, answers this one too."""
    axis = family.axes.get(name.removeprefix(PREFIX))
    return axis is not None and axis.accepts(base_units(axis, str(text)))


def _moved(begin: Mapping[str, Any], family: Family, site: Site | None) -> bool:
    """Whether family or site are not those whose questions the page shows."""
    shows = (begin.get("shown_family", ""), begin.get("shown_site", ""))
    return shows != (family.name, site.place.code if site else "")


def shown(
    request: HttpRequest,
    form: JobForm,
    draft: Draft,
    known: Known,
    refused: Iterable[Reason] = (),
    template: str = "kitting/job_new.html",
    **more: Any,
) -> HttpResponse:
    """Return the whole page, or for a page that follows the typing only what changes of it."""
    says = _says(form, draft, refused)
    first = [_row(form, name, says, draft) for name in form.field_order]
    stack = [_row(form, name, says, draft) for name in ("family", "job", "stacks")]
    asks = form.kind == JobKind.EXPANSION
    before = _row(form, "before", says, draft) if asks else Row("before", None)
    site = [
        _row(form, slot.name, says, draft) if slot.field else Row(slot.name, None, kept=slot.kept)
        for slot in form.slots()
    ]
    context = {
        "form": form,
        "draft": draft,
        "families": known,
        "refused": _unplaced(form, refused),
        "first": first,
        "stack": stack,
        "before": before,
        "site": site,
        "chosen_site": form.at.place.code if form.at else "",
        "as_before": sorted(set(draft.taken_over)),
        **more,
    }
    if not getattr(request, "htmx", False):
        return render(request, template, context)
    seen = request.POST.getlist("shown")
    whole = _moved(form.held, form.chosen, form.at) if form.chosen else False
    questions = [before, *site]
    changed = [row for row in questions if (row.field is not None) != (row.question in seen)]
    kept = [row for row in questions if row.field is not None and row not in changed]
    context |= {
        "whole": whole,
        "changed": [row for row in changed if row is before or not whole],
        "spoken": [*stack, *(row for row in kept if row is before or not whole)],
    }
    return render(request, "kitting/parts/editor_changes.html", context)


def _row(form: JobForm, name: str, says: Mapping[str, tuple[str, ...]], draft: Draft) -> Row:
    return Row(name, form[name], says.get(name, ()), draft.notes.get(name, ""))


def _says(form: JobForm, draft: Draft, refused: Iterable[Reason]) -> dict[str, tuple[str, ...]]:
    """What is against each field: limits and slips of the draft, then what the form found."""
    says = dict(draft.says)
    if form.is_bound:
        for name, errors in form.errors.items():
            says[name] = says.get(name) or tuple(str(error) for error in errors)
    family = form.chosen
    for reason in refused:
        for name in drafts.fields_of(family, reason.rule) if family else ():
            words = drafts.in_words(family, reason.rule, reason.message) if family else ""
            if words not in says.get(name, ()):
                says[name] = (*says.get(name, ()), words)
    return says


def _unplaced(form: JobForm, refused: Iterable[Reason]) -> list[str]:
    """Every reason in words, for the head of the page."""
    family = form.chosen
    if family is None:
        return [reason.message for reason in refused]
    return [drafts.in_words(family, reason.rule, reason.message) for reason in refused]


def _planned(person: Person, form: JobForm) -> Any:
    """Store the job and its kit. Raises Refused with nothing stored."""
    given: dict[str, Any] = form.cleaned_data
    leaves_at = None
    if given["leaves_at"]:
        leaves_at = timezone.make_aware(datetime.combine(given["date"], given["leaves_at"]))
    names = ("site", "site_name", "address", "date", "van", "crew")
    return planning.plan_whole(
        by=person,
        configuration=form.configuration(),
        leaves_at=leaves_at,
        **{name: given[name] for name in names},
    )
