"""Figures at the bench, for everybody: nothing is stored."""

from dataclasses import dataclass

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from inventory.access import needs
from inventory.models import Role
from kitting.bench_forms import FORMS, BenchForm
from kitting.plan.figure import Answer, Caution, caution


@dataclass(frozen=True, slots=True)
class Box:
    """One form with its answer, if it was asked."""

    form: BenchForm
    caution: Caution
    answer: Answer | None = None
    told: str = ""


@require_safe
@needs(Role.WAREHOUSE, Role.TECHNICIAN, Role.MANAGER)
def bench(request: HttpRequest) -> HttpResponse:
    """Show the small forms; the one that was asked shows its answer."""
    asked = request.GET.get("ask", "")
    boxes = [_box(kind(request.GET if kind.key == asked else None)) for kind in FORMS]
    return render(request, "kitting/bench.html", {"boxes": boxes, "asked": asked})


def _box(form: BenchForm) -> Box:
    goes_with = caution(form.figure)
    if not form.is_valid():
        return Box(form, goes_with)
    answer = form.answer()
    return Box(form, goes_with, answer, form.told(answer.value))
