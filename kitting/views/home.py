"""Where a person begins: the page of their role."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_safe

from inventory.access import person_of
from inventory.models import Role

FIRST = ((Role.MANAGER, "week"), (Role.WAREHOUSE, "kits"), (Role.TECHNICIAN, "my_jobs"))


@require_safe
def home(request: HttpRequest) -> HttpResponse:
    """Go to the page that this person works from; without a role say who can help."""
    person = person_of(request)
    for role, page in FIRST:
        if person.has(role):
            return redirect(page)
    return render(request, "kitting/home.html")
