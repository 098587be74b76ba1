"""Deliveries by their notes, what came of each, and whom we deal with."""

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from inventory import arrivals, deliveries, serial_lists, teaching
from inventory.access import delivery_read, needs, person_of
from inventory.claims import ENDS
from inventory.delivery_forms import (
    ClockForm,
    DeliveryForm,
    KeepForm,
    NeedForm,
    PartnerForm,
    SerialListForm,
)
from inventory.delivery_lists import claims_due, delivery_list, partners_with_clocks
from inventory.models import Role
from inventory.once import once

PAGE = 50


@require_http_methods(["GET", "HEAD", "POST"])
@needs(Role.WAREHOUSE, Role.MANAGER)
@once
def delivery_index(request: HttpRequest) -> HttpResponse:
    """List deliveries, newest first, and enter the note of one."""
    form = DeliveryForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        made = deliveries.enter(person_of(request), **form.cleaned_data)
        return redirect("delivery", code=made.code)
    page = Paginator(delivery_list(), PAGE).get_page(request.GET.get("page"))
    return render(request, "inventory/deliveries.html", {"form": form, "page": page})


@require_http_methods(["GET", "HEAD", "POST"])
@needs(Role.WAREHOUSE, Role.MANAGER)
def delivery(request: HttpRequest, code: str) -> HttpResponse:
    """One delivery: the door, the scanning, and its supplier's serial file against what came."""
    found = delivery_read(person_of(request), code)
    form = SerialListForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        judged = serial_lists.judge(form.cleaned_data["lines"])
        if not judged.errors:
            new = deliveries.enter_list(found, judged.rows)
            messages.success(request, f"{new} new of {len(judged.rows)} lines are kept.")
            return redirect("delivery", code=code)
        for words in judged.errors[:20]:
            form.add_error("lines", words)
    context = {
        "delivery": found,
        "door": arrivals.door(found),
        "compared": arrivals.compared(found),
        "findings": arrivals.findings(found),
        "claims": claims_due(found),
        "listed_boxes": found.listed.current().exclude(box="").exists(),
        "kinds": arrivals.BAD.items(),
        "form": form,
        "ends": ENDS.items(),
        "now": timezone.now(),
    }
    context |= teaching.told(found.subject)
    return render(request, "inventory/delivery.html", context)


@require_http_methods(["GET", "HEAD", "POST"])
@needs(Role.MANAGER)
@once
def partners(request: HttpRequest) -> HttpResponse:
    """Suppliers and carriers with their clocks; add one, or set a clock."""
    clock, asks = "hours" in request.POST, "key" in request.POST
    keeps = "keep_days" in request.POST
    form = PartnerForm(None if clock or asks or keeps else request.POST or None)
    need_form = NeedForm(request.POST if asks else None)
    keep_form = KeepForm(request.POST if keeps else None)
    clock_form = ClockForm(request.POST if clock else None)
    if request.method == "POST" and clock and clock_form.is_valid():
        made = deliveries.set_clock(**clock_form.cleaned_data, by=person_of(request))
        messages.success(request, f"{made.partner}: {made}.")
        return redirect("partners")
    if request.method == "POST" and asks and need_form.is_valid():
        made_need = deliveries.set_need(**need_form.cleaned_data, by=person_of(request))
        messages.success(request, f"{made_need}.")
        return redirect("partners")
    if request.method == "POST" and keeps and keep_form.is_valid():
        deliveries.set_keeping(**keep_form.cleaned_data, by=person_of(request))
        messages.success(request, "Noted.")
        return redirect("partners")
    if request.method == "POST" and form.is_valid():
        partner = deliveries.enter_partner(**form.cleaned_data)
        messages.success(request, f"{partner.name} is entered. Set its clocks.")
        return redirect("partners")
    context = {
        "form": form,
        "clock_form": clock_form,
        "need_form": need_form,
        "keep_form": keep_form,
        "partners": partners_with_clocks(),
    }
    return render(request, "inventory/partners.html", context)
