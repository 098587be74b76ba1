"""Where a kit's things come from: which ones, what stands for what, other kits, whole stacks."""

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods, require_safe

from inventory.access import needs, person_of
from inventory.models import Person, Role
from inventory.once import once
from kitting import (
    by_hand,
    donors,
    other_ways,
    pinning,
    run_choice,
    substituting,
    where_from,
)
from kitting.access import kit_write
from kitting.models import Kit, Pin, RunChoice, Substitute
from kitting.packing import Reason, Refused
from kitting.sourcing_forms import ChoiceForm, PinForm, SubstituteForm, TakeForm
from kitting.views.closed import while_open


@require_http_methods(["GET", "HEAD", "POST"])
@needs(Role.WAREHOUSE, Role.MANAGER)
@once
def kit_sources(request: HttpRequest, code: str) -> HttpResponse:
    """Where each line comes from, what can be done about what is short, and what would do as well;
    a manager pins things and takes another way."""
    person = person_of(request)
    found = kit_write(person, code)
    if request.method == "POST" and "take" not in request.POST and not person.has(Role.MANAGER):
        raise Http404
    form = PinForm(request.POST if "pin" in request.POST else None)
    refused: tuple[Reason, ...] = ()
    if request.method == "POST":
        try:
            if _acted(request, person, found, form):
                latest = found.job.kit or found  # before its release another list is another kit
                return redirect("kit_sources", code=latest.code)
        except Refused as refusal:
            refused = refusal.reasons
    context = {
        "kit": found,
        "job": found.job,
        "lines": where_from.by_place(where_from.lines_of(found) if found.is_open else []),
        "units": where_from.units_of(found) if found.is_open else [],
        "given": donors.given(found),
        "pins": Pin.objects.standing().filter(kit=found).select_related("unit__item", "by"),
        "choice": run_choice.in_force(),
        "choices": other_ways.choices(found),
        "changed": by_hand.notes(found),
        "form": form,
        "refused": refused,
    }
    return render(request, "kitting/kit_sources.html", context)


def _acted(request: HttpRequest, person: Person, kit: Kit, form: PinForm) -> bool:
    """Do what was asked; False where the form says what is wrong with it."""
    if "take" in request.POST:
        _take(request, person, kit)
    elif "way" in request.POST:
        messages.success(request, other_ways.take(kit, request.POST["way"], person))
    elif "unpin" in request.POST:
        row = Pin.objects.standing().filter(kit=kit, pk=_number(request.POST["unpin"])).first()
        if row is None:
            raise Http404
        pinning.take_out(row, person, request.POST.get("reason", ""))
        messages.success(request, f"{row.unit} is free for any kit again.")
    elif form.is_valid():
        given = form.cleaned_data
        pinning.pin(kit, given["serial"], person, given["reason"])
        messages.success(request, f"{given['serial']} is kept for {kit.code}.")
    else:
        return False
    return True


def _take(request: HttpRequest, person: Person, kit: Kit) -> None:
    form = TakeForm(request.POST)
    if not form.is_valid():
        words = [str(error) for errors in form.errors.values() for error in errors]
        raise Refused([Reason("substitute", one) for one in words])
    given = form.cleaned_data
    line = kit.lines.filter(pk=given["line"]).select_related("item").first()
    row = Substitute.objects.filter(uid=given["substitute"]).first()
    if line is None or row is None:
        raise Refused([Reason("substitute", "The list changed meanwhile. Open this page anew")])
    substituting.take(kit, line, row, given["quantity"], person, given["reason"])
    messages.success(request, f"{row.instead.name} is on the list of {kit.code} instead.")


def _number(text: str) -> int:
    return int(text) if text.isdecimal() and len(text) < 18 else 0


@require_safe
@needs(Role.MANAGER)
@while_open(kit_write, "kit")
def kit_donor(request: HttpRequest, kit: Kit) -> HttpResponse:
    """Take what this kit lacks out of another kit, one scan each."""
    lines = [line for line in where_from.lines_of(kit) if line.donors] if kit.is_open else []
    places = {one.kit.code: one.places[0] for line in lines for one in line.donors if one.places}
    context = {"kit": kit, "job": kit.job, "lines": lines, "places": places}
    return render(request, "kitting/kit_donor.html", context)


@require_http_methods(["GET", "HEAD", "POST"])
@needs(Role.WAREHOUSE, Role.MANAGER)
@once
def whole_stacks(request: HttpRequest) -> HttpResponse:
    """Oldest first beside most stacks: what each means today; a manager chooses for the firm."""
    person = person_of(request)
    if request.method == "POST" and not person.has(Role.MANAGER):
        raise Http404
    form = ChoiceForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        made = run_choice.set_way(form.cleaned_data["way"], person, form.cleaned_data["reason"])
        messages.success(request, f"{made} from now on.")
        return redirect("whole_stacks")
    context = {
        "items": run_choice.side_by_side(),
        "choice": run_choice.in_force(),
        "past": RunChoice.objects.select_related("by").order_by("-pk")[:10],
        "form": form,
    }
    return render(request, "kitting/whole_stacks.html", context)


@require_http_methods(["GET", "HEAD", "POST"])
@needs(Role.WAREHOUSE, Role.MANAGER)
@once
def substitutes(request: HttpRequest) -> HttpResponse:
    """What may stand for what, and who decided; a manager adds and ends."""
    person = person_of(request)
    if request.method == "POST" and not person.has(Role.MANAGER):
        raise Http404
    ending = "end" in request.POST
    form = SubstituteForm(None if ending else request.POST or None)
    refused: tuple[Reason, ...] = ()
    try:
        if ending:
            row = Substitute.objects.filter(pk=_number(request.POST["end"])).first()
            if row is None:
                raise Http404
            substituting.end(row, person, request.POST.get("reason", "") or "ended")
            messages.success(request, "It may be taken no more.")
            return redirect("substitutes")
        if request.method == "POST" and form.is_valid():
            made = substituting.decide(person, form.cleaned_data)
            messages.success(request, f"{made.instead.name} may stand for {made.item.name}.")
            return redirect("substitutes")
    except Refused as refusal:
        refused = refusal.reasons
    context = {"rows": substituting.known(), "form": form, "refused": refused}
    return render(request, "kitting/substitutes.html", context)
