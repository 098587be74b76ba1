"""Claims: what is due, what credits are still to come, and one claim with all it needs."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from inventory import claim_needs
from inventory import claims as asked
from inventory.access import claim_read, needs, person_of
from inventory.claims import ENDS
from inventory.delivery_lists import claims_due, due_of
from inventory.models import Partner, Role
from inventory.return_lists import money, owed


@require_safe
@needs(Role.WAREHOUSE, Role.MANAGER)
def claims(request: HttpRequest) -> HttpResponse:
    """Open claims, the earliest clock first; a manager sees what money is still to come."""
    today = timezone.localdate()
    lead = person_of(request).has(Role.MANAGER)
    credits_open = owed(today) if lead else []
    context = {
        "claims": claims_due(),
        "ends": ENDS.items(),
        "now": timezone.now(),
        "lead": lead,
        "owed": credits_open,
        "owed_in_all": sum(one.left for one in credits_open),
    }
    return render(request, "inventory/claims.html", context)


@require_safe
@needs(Role.WAREHOUSE, Role.MANAGER)
def claim(request: HttpRequest, code: str) -> HttpResponse:
    """One claim: what it needs and what lacks, its clocks, their number, the money."""
    found = claim_read(person_of(request), code)
    expected, credited = money(found)
    entries = claim_needs.entries(found)
    context = {
        "claim": found,
        "row": due_of(found),
        "entries": entries,
        "missing": [entry for entry in entries if entry.missing and not entry.later],
        "later": [entry for entry in entries if entry.later],
        "partner": asked.partner_of(found),
        "partners": Partner.objects.all(),
        "approval": asked.approval(found),
        "instead": asked.replacement(found),
        "kept_until": asked.kept_until(found),
        "days": (timezone.now() - found.event.received_at).days,
        "expected": expected,
        "credited": credited,
        "left": expected - credited,
        "ends": ENDS.items(),
        "now": timezone.now(),
    }
    return render(request, "inventory/claim.html", context)
