"""Problems nobody has answered, and what is set aside."""

from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from inventory.access import needs
from inventory.models import Role
from inventory.overviews import open_findings, open_holds
from inventory.return_lists import asked_of
from inventory.returns import open_of_units
from inventory.subjects import named

PAGE = 50


@require_safe
@needs(Role.WAREHOUSE, Role.MANAGER)
def problems(request: HttpRequest) -> HttpResponse:
    """List open problems with photo, kit and who saw it; and things set aside."""
    page = Paginator(open_findings(), PAGE).get_page(request.GET.get("page"))
    holds = list(open_holds())
    context = {
        "page": page,
        "subjects": named(finding.subject for finding in page),
        "asked": asked_of(page),
        "holds": holds,
        "recalled": {hold.pk for hold in holds if hold.unit_id and hasattr(hold, "hit")},
        "backs": open_of_units(hold.unit_id for hold in holds),
    }
    return render(request, "inventory/problems.html", context)
