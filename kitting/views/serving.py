"""Short stock: who is served first, most complete kits beside by date; a manager decides."""

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods

from inventory.access import needs, person_of
from inventory.models import Role
from inventory.once import once
from kitting import serving
from kitting.models import Serving
from kitting.packing import Reason, Refused


@require_http_methods(["GET", "HEAD", "POST"])
@needs(Role.WAREHOUSE, Role.MANAGER)
@once
def short_stock(request: HttpRequest) -> HttpResponse:
    """Say at once what is decided; with `show`, work out each way side by side."""
    person = person_of(request)
    if request.method == "POST" and not person.has(Role.MANAGER):
        raise Http404
    refused: tuple[Reason, ...] = ()
    if request.method == "POST":
        try:
            made = serving.decide(request.POST.get("way", ""), request.POST.get("seen", ""), person)
            messages.success(request, f"{str(made).capitalize()} from now on.")
            return redirect("short_stock")
        except Refused as refusal:
            refused = refusal.reasons
    context = {
        "both": serving.side_by_side() if refused or "show" in request.GET else None,
        "choice": serving.in_force(),
        "past": Serving.objects.select_related("by").order_by("-pk")[:10],
        "refused": refused,
    }
    return render(request, "kitting/short_stock.html", context)
