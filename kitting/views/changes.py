"""Changing a kit: another configuration after its release, lines by hand, back to the shelf, and
what a technician finds different at the site."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods, require_safe

from inventory.access import needs, person_of
from inventory.models import Person, Place, PlaceKind, Role
from inventory.once import once
from kitting import by_hand, changing, families, hand_lines, nearby, overviews, packing, snapshot
from kitting.access import job_write, kit_read, kit_write, own_kit_read
from kitting.change_forms import HandForm, ReasonForm, typed
from kitting.models import HandLine, Job, Kit, KitChange
from kitting.packing import Reason, Refused
from kitting.plan.difference import Difference
from kitting.progress import fold
from kitting.queries import repeated_hand_changes
from kitting.views.closed import while_open


@dataclass(slots=True)
class _Asked:
    """A change as it is being made on a page."""

    kit: Kit
    form: ReasonForm
    seen: str
    """How many changes the kit had when the page was opened."""
    difference: Difference | None = None
    refused: tuple[Reason, ...] = ()
    saved: KitChange | None = None


def _asking(request: HttpRequest, person: Person, kit: Kit, kind: str) -> _Asked:
    """Show what the answers would change; with the button "save" store it."""
    family, now = families.family_of(kit.edition), kit.snapshot["configuration"]
    on_site = kind == KitChange.Kind.SITE
    form = ReasonForm(
        family, request.POST or None, job=kit.job.kind, fixed=on_site, initial=typed(now, family)
    )
    found = _Asked(kit, form, request.POST.get("seen", "") or str(kit.changes.count()))
    if request.method != "POST" or not form.is_valid():
        return found
    asked = form.configuration(now)
    reason = form.cleaned_data["reason"] or _told(now, asked)
    try:
        found.difference = changing.preview(kit, asked, kind)
        if "save" in request.POST:
            seen = int(found.seen) if found.seen.isdecimal() else -1
            found.saved = changing.change_kit(kit, asked, person, reason, kind, seen)
    except Refused as refusal:
        found.refused = refusal.reasons
    return found


def _told(before: Mapping[str, Any], now: Mapping[str, Any]) -> str:
    """Name what differs, where nobody wrote why."""
    names = dict.fromkeys([*now, *before])
    changed = [name for name in names if now.get(name) != before.get(name)]
    parts = [f"{name}: {before.get(name)} -> {now.get(name)}" for name in changed]
    return "; ".join(parts)[:150] or "looked at again"


def _context(found: _Asked) -> dict[str, Any]:
    return {
        "kit": found.kit,
        "job": found.kit.job,
        "form": found.form,
        "seen": found.seen,
        "refused": found.refused,
        "difference": found.difference,
        "near": nearby.near(found.kit, found.difference) if found.difference else (),
        **overviews.changes_about(found.kit),
    }


def _kit_to_change(person: Person, code: str) -> Kit:
    return kit_read(person, job_write(person, code).code)


@require_http_methods(["GET", "HEAD", "POST"])
@needs(Role.MANAGER)
@once
@while_open(_kit_to_change, "job")
def job_change(request: HttpRequest, kit: Kit) -> HttpResponse:
    """Change the configuration of a kit that is with the warehouse already."""
    person = person_of(request)
    if kit.released_at is None:
        raise Http404
    found = _asking(request, person, kit, KitChange.Kind.OFFICE)
    if found.saved is not None:
        messages.success(request, f"{kit.code} is changed. What was picked stays picked.")
        return redirect("job_change", code=kit.job.code)
    return render(request, "kitting/job_change.html", _context(found))


@require_http_methods(["GET", "HEAD", "POST"])
@needs(Role.TECHNICIAN)
@once
@while_open(own_kit_read, "my_job")
def my_differs(request: HttpRequest, kit: Kit) -> HttpResponse:
    """The site differs: other answers, and only what they change."""
    person = person_of(request)
    if kit.released_at is None:
        raise Http404
    found = _asking(request, person, kit, KitChange.Kind.SITE)
    if found.saved is not None:
        messages.success(request, "Saved. The list follows what you found.")
        return redirect("my_differs", code=kit.job.code)
    return render(request, "kitting/my_differs.html", _context(found))


@require_http_methods(["GET", "HEAD", "POST"])
@needs(Role.MANAGER)
@once
@while_open(_kit_to_change, "job")
def job_hand(request: HttpRequest, kit: Kit) -> HttpResponse:
    """Add, drop or change a line with a reason; take such a change back."""
    person, job = person_of(request), kit.job
    taking = "take_back" in request.POST
    sent = request.POST if request.method == "POST" and not taking else None
    form = HandForm(job, sent, initial={name: request.GET.get(name) for name in ("item", "step")})
    titles = snapshot.step_titles(kit)
    refused: tuple[Reason, ...] = ()
    if taking or form.is_valid():
        try:
            _by_hand(request, person, job, form)
            return redirect("job_hand", code=job.code)
        except Refused as refusal:
            refused = refusal.reasons
    context = {
        "job": job,
        "kit": kit,
        "form": form,
        "refused": refused,
        "by_hand": by_hand.beside(kit),
        "lines": [(ln, titles.get(ln.step, ln.step)) for ln in kit.lines.select_related("item")],
        "proposals": repeated_hand_changes(),
    }
    return render(request, "kitting/job_hand.html", context)


def _by_hand(request: HttpRequest, person: Person, job: Job, form: HandForm) -> None:
    if "take_back" in request.POST:
        row = HandLine.objects.filter(job=job, uid=_uid(request.POST["take_back"])).first()
        if row is None:
            raise Http404
        hand_lines.take_back(row, person, request.POST.get("reason", "") or "taken back")
        messages.success(request, "Taken back.")
        return
    given = form.cleaned_data
    hand_lines.put(
        job,
        item=given["item"],
        step=given["step"],
        verb=given["verb"],
        quantity=given["quantity"] or 0,
        pieces=given["pieces"],
        reason=given["reason"],
        by=person,
    )
    messages.success(request, "Changed by hand.")


def _uid(text: str) -> Any:
    from uuid import UUID

    try:
        return UUID(text)
    except ValueError:
        raise Http404 from None


@require_safe
@needs(Role.WAREHOUSE, Role.MANAGER)
@while_open(kit_write, "kit")
def kit_put_back(request: HttpRequest, kit: Kit) -> HttpResponse:
    """Back to the shelf: what a change of the kit left over, one scan each."""
    shelves = Place.objects.filter(kind__in=(PlaceKind.DOCK, PlaceKind.BIN))
    context = {
        "kit": kit,
        "job": kit.job,
        "over": fold(kit).to_put_back,
        "shelves": shelves.order_by("order", "code"),
        **overviews.changes_about(kit),
    }
    return render(request, "kitting/kit_put_back.html", context)


def take_both(person: Person, job: Job, axis: str) -> str:
    """Let an open question travel with the lines of each answer; return what to say."""
    kit = packing.take_both(job, axis, person)
    return f"{kit.code} takes the lines of each answer; what is not used comes back."
