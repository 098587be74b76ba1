"""Leads: who is one, and their word about a stop."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_http_methods

from inventory.access import needs, person_of
from inventory.models import Role
from inventory.once import once
from kitting import leading
from kitting.access import kit_of_subject
from kitting.lead_forms import LeadForm, WordForm

SHOWN = 50  # latest words


@require_http_methods(["GET", "HEAD", "POST"])
@sensitive_post_parameters("pin")
@needs(Role.MANAGER)
@once
def leads(request: HttpRequest) -> HttpResponse:
    """Say who is a lead, and see what leads let through."""
    form, fault = LeadForm(request.POST or None), ""
    if request.method == "POST" and form.is_valid():
        person, pin = form.cleaned_data["person"], form.cleaned_data["pin"]
        try:
            leading.give(person, pin, person_of(request))
        except leading.LeadError as error:
            fault = str(error)
        else:
            messages.success(request, f"{person.name}: {'a lead' if pin else 'a lead no more'}.")
            return redirect("leads")
    context = {
        "form": form,
        "fault": fault,
        "leads": leading.leads(),
        "tries": leading.TRIES,
        "words": leading.said()[:SHOWN],
    }
    return render(request, "kitting/leads.html", context)


@require_http_methods(["GET", "HEAD", "POST"])
@sensitive_post_parameters("pin")
@needs(Role.WAREHOUSE, Role.MANAGER)
@once
def lead_word(request: HttpRequest) -> HttpResponse:
    """A lead says that what stopped may go on: who, PIN and reason."""
    event = leading.stopped(request.GET.get("event", ""))
    kit = kit_of_subject(event.subject) if event is not None else None
    form, fault = WordForm(request.POST or None), ""
    if event is not None and kit is not None and request.method == "POST" and form.is_valid():
        given, now = form.cleaned_data, timezone.now()
        said = (given["lead"], given["pin"], given["reason"])
        try:
            leading.say(event, *said, by=person_of(request), now=now)
        except leading.LeadError as error:
            fault = str(error)
        else:
            messages.success(request, "It may go on. Touch Seen, then scan the same code again.")
            return redirect(f"kit_{event.step}", code=kit.code)
    stop = event.outcomes.order_by("-number").first() if event is not None else None
    context = {"event": event, "kit": kit, "stop": stop, "form": form, "fault": fault}
    return render(request, "kitting/lead_word.html", context)
