"""The whole chain of a unit, batch, box or parcel."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from inventory import subjects, tracing
from inventory.access import needs
from inventory.models import Role


@require_safe
@needs(Role.WAREHOUSE, Role.MANAGER)
def trace(request: HttpRequest) -> HttpResponse:
    """Show where the thing of `code` came from, went, and who saw it; newest first."""
    code = request.GET.get("code", "").strip()[:500]
    chain = tracing.chain(code) if code else None
    links = list(reversed(chain.links)) if chain else []
    stands = subjects.named([f"site:{chain.site}"]) if chain and chain.site else {}
    context = {
        "code": code,
        "chain": chain,
        "links": links,
        "site": next(iter(stands.values()), None),
    }
    return render(request, "inventory/trace.html", context)
