"""Problems nobody has answered, what is set aside, what has not come for a day."""

from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from inventory import teaching, two_claims
from inventory.access import needs
from inventory.models import Role
from inventory.not_arrived import never_came, still_waiting
from inventory.overviews import open_findings, things_aside
from inventory.return_lists import asked_of
from inventory.returns import open_of_units
from inventory.settling import answered_otherwise
from inventory.subjects import named

PAGE = 50


@require_safe
@needs(Role.WAREHOUSE, Role.MANAGER)
def problems(request: HttpRequest) -> HttpResponse:
    """List open problems with photo, kit and who saw it; and things set aside."""
    page = Paginator(open_findings(), PAGE).get_page(request.GET.get("page"))
    holds, now = things_aside(), timezone.now()
    context = {
        "page": page,
        "subjects": named(finding.subject for finding in page),
        "asked": asked_of(page),
        "claims": two_claims.told(list(page)),
        "otherwise": answered_otherwise(list(page)),
        "lost": never_came(now),
        "waiting": still_waiting(now)[:PAGE],
        "holds": holds,
        "backs": open_of_units(one.hold.unit_id for one in holds),
    } | teaching.to_teach(page)
    return render(request, "inventory/problems.html", context)
