"""What was sent to printers and what became of it; the printers themselves."""

from __future__ import annotations

from django.contrib import messages
from django.core.exceptions import BadRequest
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods

from inventory import label_printing, print_queue
from inventory.access import needs, person_of, print_read
from inventory.label_forms import NewPrinterForm, PrinterChangeForm
from inventory.labels.errors import LabelError
from inventory.labels.layouts import layouts
from inventory.models import Printer, PrintJob, Role
from inventory.once import once
from inventory.views import labels


@require_http_methods(["GET", "HEAD", "POST"])
@needs(Role.WAREHOUSE, Role.MANAGER)
def printing(request: HttpRequest) -> HttpResponse:
    """List what was printed; ask its queue, say what came out, print it again."""
    if request.method == "POST":
        job = print_read(person_of(request), request.POST.get("job", ""))
        try:
            return _act(request, job)
        except (label_printing.NoSuchTurn, LabelError) as refusal:
            messages.error(request, str(refusal))
        return redirect("printing")
    context = {"jobs": label_printing.latest(), "can_print": print_queue.there()}
    return render(request, "inventory/printing.html", context)


def _act(request: HttpRequest, job: PrintJob) -> HttpResponse:
    person, act = person_of(request), request.POST.get("act", "")
    if act == "again":
        chosen = labels.read(person, job.codes)
        return labels.printed(request, chosen, job.codes, job.printer, job.skip, again_of=job)
    if act == "ask":
        turn = label_printing.ask(job)
        if turn is None:
            messages.info(request, f"{job.printer.name} says nothing new.")
    elif act in ("out", "nothing"):
        turn = label_printing.seen(job, person, came_out=act == "out")
    else:
        raise BadRequest(f"act: expected again, ask, out or nothing, got {act[:40]!r}")
    if turn is not None:
        labels.tell(request, job, turn)
    return redirect("printing")


@require_http_methods(["GET", "HEAD", "POST"])
@needs(Role.WAREHOUSE, Role.MANAGER)
@once
def printers(request: HttpRequest) -> HttpResponse:
    """List the printers; a manager adds one or changes one."""
    person, asked = person_of(request), request.POST.get("change", "")
    if request.method == "POST" and not person.has(Role.MANAGER):
        raise Http404
    form = NewPrinterForm(request.POST if request.method == "POST" and not asked else None)
    rows = [(one, _change(one, request)) for one in Printer.objects.all()]
    for printer, change in rows:
        if change.is_valid():
            label_printing.change_printer(printer, person, **change.cleaned_data)
            messages.success(request, f"{printer.name}: changed.")
            return redirect("printers")
    if form.is_valid():
        made = label_printing.enter_printer(**form.cleaned_data)
        messages.success(request, f"{made.name} is entered.")
        return redirect("printers")
    context = {"rows": rows, "form": form, "layouts": layouts()}
    return render(request, "inventory/printers.html", context | {"there": print_queue.there()})


def _change(printer: Printer, request: HttpRequest) -> PrinterChangeForm:
    asked = request.method == "POST" and request.POST.get("change") == str(printer.pk)
    now = {name: getattr(printer, name) for name in ("address", "layout", "dpi", "in_use")}
    prefix = f"id_{printer.pk}_%s"
    return PrinterChangeForm(request.POST if asked else None, initial=now, auto_id=prefix)
