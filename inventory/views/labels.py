"""Labels: chosen by their codes, drawn and decoded again, given out as a file."""

from collections.abc import Sequence

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_http_methods

from inventory.access import needs, person_of, thing_read
from inventory.forms import LabelsForm
from inventory.labelling import label_of
from inventory.labels import png, sheet
from inventory.labels.errors import LabelRefused, LabelUnreadable
from inventory.labels.label import Label
from inventory.models import Person, Role


@require_http_methods(["GET", "HEAD", "POST"])
@needs(Role.WAREHOUSE, Role.MANAGER)
def labels(request: HttpRequest) -> HttpResponse:
    """Draw the labels of the codes given; `codes` in the address fills the form."""
    form = LabelsForm(request.POST or None, initial={"codes": request.GET.get("codes", "")})
    if request.method == "POST" and form.is_valid():
        given = form.cleaned_data
        try:
            chosen = _labels(person_of(request), given["codes"].splitlines())
            return drawn(chosen, given["form"], given["dpi"], given["skip"])
        except (LabelRefused, LabelUnreadable) as refusal:
            form.add_error("codes", str(refusal))
    return render(request, "inventory/labels.html", {"form": form})


def _labels(person: Person, texts: Sequence[str]) -> list[Label]:
    wanted = [text.strip() for text in texts if text.strip()]
    return [label_of(thing_read(person, text)) for text in wanted]


def drawn(chosen: Sequence[Label], form: str, dpi: int, skip: int = 0) -> HttpResponse:
    """Return labels as a file. Raises LabelRefused or LabelUnreadable."""
    if form == "png" and chosen:
        return HttpResponse(png.png(chosen[0], dpi), content_type="image/png")
    answer = HttpResponse(sheet.pdf(chosen, dpi, skip), content_type="application/pdf")
    answer.headers["Content-Disposition"] = 'inline; filename="labels.pdf"'
    return answer
