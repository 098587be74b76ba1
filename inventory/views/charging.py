"""What on the shelf has to be charged, and by when."""

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from inventory import charging as clock
from inventory import placing
from inventory.access import needs, person_of
from inventory.amending import latest
from inventory.charge_forms import ChargeRuleForm, WarmthForm
from inventory.models import Amendment, ChargeRule, Place, Role
from inventory.once import once

PAGE = 100


@require_http_methods(["GET", "HEAD", "POST"])
@needs(Role.WAREHOUSE, Role.MANAGER)
@once
def charging(request: HttpRequest) -> HttpResponse:
    """List what is due first; a manager sets the makers' rules and how warm places get."""
    if request.method == "POST" and not person_of(request).has(Role.MANAGER):
        raise Http404
    warmth = "place" in request.POST
    form = ChargeRuleForm(None if warmth else request.POST or None)
    warmth_form = WarmthForm(request.POST if warmth else None)
    if request.method == "POST" and warmth and warmth_form.is_valid():
        placing.set_warmth(**warmth_form.cleaned_data, by=person_of(request))
        messages.success(request, f"{warmth_form.cleaned_data['place'].name}: noted.")
        return redirect("charging")
    if request.method == "POST" and not warmth and form.is_valid():
        rule = clock.set_rule(**form.cleaned_data, by=person_of(request))
        messages.success(request, f"{rule}.")
        return redirect("charging")
    today = timezone.now().date()
    states = [(one, one.word(today)) for one in clock.states(clock.in_stock(), today)]
    context = {
        "form": form,
        "warmth_form": warmth_form,
        "page": Paginator(states, PAGE).get_page(request.GET.get("page")),
        "rules": _rules(),
        "warm": _warm(),
    }
    return render(request, "inventory/charging.html", context)


def _rules() -> list[tuple[ChargeRule, Amendment | None]]:
    """Each maker's rule with who set it last."""
    said = latest(clock.RULE)
    rules = ChargeRule.objects.select_related("item")
    return [(rule, said.get(f"{clock.RULE}:{rule.item.code}:{rule.up_to_c}")) for rule in rules]


def _warm() -> list[tuple[Place, Amendment | None]]:
    """Each place of which it is known how warm it gets, with who said so last."""
    said = latest(placing.WARMTH)
    places = Place.objects.exclude(warmest_c=None)
    return [(place, said.get(f"{placing.WARMTH}:{place.code}")) for place in places]
