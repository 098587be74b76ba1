"""Labels: chosen by their codes, drawn and decoded again, printed at once or given as a file."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from django.conf import settings
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.http import url_has_allowed_host_and_scheme
from django.views.decorators.http import require_http_methods, require_safe

from inventory import label_printing, labelling, print_queue
from inventory.access import label_read, needs, person_of
from inventory.codes.commands import COMMANDS
from inventory.label_forms import LabelsForm
from inventory.labels import layouts, png, sheet
from inventory.labels import wall_sheet as wall
from inventory.labels.errors import LabelRefused, LabelUnreadable
from inventory.labels.label import Label
from inventory.models import Person, Printer, PrintJob, PrintTurn, Role
from inventory.once import once

LAST = "printer"  # of the session: whom this browser printed on last


@require_http_methods(["GET", "HEAD", "POST"])
@needs(Role.WAREHOUSE, Role.MANAGER)
def labels(request: HttpRequest) -> HttpResponse:
    """Draw the labels of the codes given; `codes` in the address fills the form."""
    initial = {"codes": request.GET.get("codes", ""), "printer": request.session.get(LAST)}
    form = LabelsForm(request.POST or None, initial=initial)
    if request.method == "POST" and form.is_valid():
        given = form.cleaned_data
        texts = [text.strip() for text in given["codes"].splitlines() if text.strip()]
        try:
            chosen = read(person_of(request), texts)
            if given["printer"] is not None:
                return printed(request, chosen, texts, given["printer"], given["skip"])
            return drawn(chosen, given["form"], given["dpi"], given["skip"], given["layout"])
        except (LabelRefused, LabelUnreadable) as refusal:
            form.add_error("codes", str(refusal))
    context = {"form": form, "can_print": print_queue.there()}
    return render(request, "inventory/labels.html", context)


@require_safe
@needs(Role.WAREHOUSE, Role.MANAGER)
def wall_sheet(request: HttpRequest) -> HttpResponse:
    """Draw the commands that are scanned instead of touched."""
    chosen = [label for label in map(labelling.command_by_number, COMMANDS) if label is not None]
    file = sheet.pdf(chosen, 600, 0, wall.SHEET)
    answer = HttpResponse(file, content_type="application/pdf")
    answer.headers["Content-Disposition"] = 'inline; filename="wall-sheet.pdf"'
    return answer


def read(person: Person, texts: Sequence[str]) -> list[Label]:
    """Return the labels of these codes. Raises LabelRefused."""
    return [label_read(person, text) for text in texts]


def drawn(
    chosen: Sequence[Label], form: str, dpi: int, skip: int = 0, layout: str = ""
) -> HttpResponse:
    """Return labels as a file; without a layout on a sheet of the office's paper.

    Raises LabelRefused or LabelUnreadable.
    """
    paper = layouts.named(layout or layouts.usual(settings.PAPER))
    if form == "png" and chosen:
        return HttpResponse(png.png(chosen[0], dpi, paper), content_type="image/png")
    answer = HttpResponse(sheet.pdf(chosen, dpi, skip, paper), content_type="application/pdf")
    answer.headers["Content-Disposition"] = 'inline; filename="labels.pdf"'
    return answer


def printed(
    request: HttpRequest,
    chosen: Sequence[Label],
    texts: Sequence[str],
    printer: Printer,
    skip: int = 0,
    again_of: PrintJob | None = None,
) -> HttpResponse:
    """Print labels at once and lead back. Raises LabelRefused, LabelUnreadable, NoSuchTurn.

    Drawn before and sent after the form's lock: only keeping the job happens under it.
    """
    file = sheet.pdf(chosen, printer.dpi, skip, layouts.named(printer.layout))
    kept: list[PrintJob] = []
    asked = {"printer": printer, "codes": texts, "skip": skip, "again_of": again_of}
    answer = _keep(request, asked, kept)
    request.session[LAST] = printer.pk
    for job in kept:
        tell(request, job, label_printing.send(job, file))
    return answer


@once
def _keep(request: HttpRequest, asked: dict[str, Any], kept: list[PrintJob]) -> HttpResponse:
    kept.append(label_printing.keep(person_of(request), **asked))
    back = request.POST.get("back", "")
    # A page of ours, or the list of what was printed.
    if back.startswith("/") and url_has_allowed_host_and_scheme(back, allowed_hosts=None):
        return redirect(back)
    return redirect("printing")


def tell(request: HttpRequest, job: PrintJob, turn: PrintTurn) -> None:
    """Say what became of a print."""
    many = "1 label" if len(job.codes) == 1 else f"{len(job.codes)} labels"
    words = f"{many}, {job.printer.name}: {turn.get_state_display()}"
    words += f" ({turn.words})." if turn.words else "."
    good = turn.state in (PrintTurn.State.SENT, PrintTurn.State.DONE)
    (messages.success if good else messages.error)(request, words)
