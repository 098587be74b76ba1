"""Files brought in: chosen, looked at row by row, then written whole or not at all."""

from __future__ import annotations

from pathlib import Path
from tempfile import TemporaryDirectory

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods

from inventory import handing_out
from inventory.access import brought_write, needs, person_of
from inventory.bringing import page, running
from inventory.bringing.kinds import KINDS
from inventory.bringing.running import CannotBringIn
from inventory.incoming.errors import FileRefused
from inventory.models import BroughtFile, Person, Role

SLICE = 2.0  # seconds of writing in one request; the page asks for the next by itself
LISTED = 20  # files that came in before


@require_http_methods(["GET", "HEAD", "POST"])
@needs(Role.MANAGER)
def bring_in(request: HttpRequest) -> HttpResponse:
    """Choose a file to look at; what came in before. `kind`: what another page has chosen."""
    person, chosen = person_of(request), {"kind": request.GET.get("kind", "")}
    form = page.FileForm(request.POST or None, request.FILES or None, initial=chosen)
    if request.method == "POST" and form.is_valid():
        return redirect("brought_file", form.kept(person).code)
    before = BroughtFile.objects.exclude(begun_at=None).select_related("person").defer("data")
    context = {"form": form, "kinds": page.kinds(), "before": before[:LISTED]}
    return render(request, "inventory/bring_in.html", context)


@require_http_methods(["GET", "HEAD"])
@needs(Role.MANAGER)
def table_out(request: HttpRequest, kind: str, ending: str) -> HttpResponse:
    """All rows of a kind as they are now, with the columns they come in by."""
    if kind not in handing_out.kinds() or ending not in handing_out.ENDINGS:
        raise Http404
    name = f"{kind}.{ending}"
    with TemporaryDirectory(prefix="lastbolt-") as folder:
        handing_out.hand_out(kind, Path(folder) / name)
        table = (Path(folder) / name).read_bytes()
    answer = HttpResponse(table, content_type=handing_out.ENDINGS[ending])
    answer.headers["Content-Disposition"] = f'attachment; filename="{name}"'
    return answer


@require_http_methods(["GET", "HEAD", "POST"])
@needs(Role.MANAGER)
def brought_file(request: HttpRequest, brought: str) -> HttpResponse:
    """One file: what would come in, row by row; then how far it has come."""
    person = person_of(request)
    file = brought_write(person, brought)
    if request.method == "POST":
        try:
            _act(request, file, person)
        except (CannotBringIn, FileRefused) as error:
            messages.error(request, f"{error}.")
        if not request.headers.get("HX-Request"):
            return redirect("brought_file", file.code)
        file = brought_write(person, brought)
    context: dict[str, object] = {"file": file, "kind": KINDS[file.kind]}
    if file.begun_at is None:
        context["preview"] = page.preview(file, person)
    else:
        context["done"] = file.parts.exclude(event=None).count()
        context["parts"] = file.parts.count()
    return render(request, "inventory/brought_file.html", context)


def _act(request: HttpRequest, file: BroughtFile, person: Person) -> None:
    """Begin what was looked at, go on for a while, or take it back."""
    if "take_back" in request.POST:
        running.take_back(file, person, "Taken back by hand.")
        return
    if "plan" in request.POST:
        change = "change" in request.POST
        file = running.confirm(file, request.POST["plan"], person, change=change)
    running.go_on(file, person, seconds=SLICE)
