"""Stock: what there is, and where."""

from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from inventory import boxes, ordering, trend
from inventory.access import item_read, needs, person_of
from inventory.models import Role
from inventory.overviews import here, holdings_of, stock_list, units_of

PAGE = 100


@require_safe
@needs(Role.WAREHOUSE, Role.MANAGER)
def stock(request: HttpRequest) -> HttpResponse:
    """Every item with how much of it is here; `q` searches code and name."""
    search = request.GET.get("q", "")[:60]
    page = Paginator(stock_list(search), PAGE).get_page(request.GET.get("page"))
    there = here()
    rows = [(item, *there.get(item.pk, (0, 0))) for item in page]
    return render(request, "inventory/stock.html", {"page": page, "rows": rows, "search": search})


@require_safe
@needs(Role.WAREHOUSE, Role.MANAGER)
def stock_item(request: HttpRequest, code: str) -> HttpResponse:
    """One item: where it stands here or, with `sites`, at sites; its codes, its serials."""
    item = item_read(person_of(request), code)
    sites = "sites" in request.GET
    lying = Paginator(holdings_of(item, sites=sites), PAGE)
    context = {
        "item": item,
        "sites": sites,
        "holdings": lying.get_page(request.GET.get("places")),
        "awaited": ordering.awaited(item.order_lines.all()),
        "codes": item.codes.order_by("text"),
        "units": Paginator(units_of(item), PAGE).get_page(request.GET.get("page")),
        "contents": boxes.of_box(item, timezone.localdate()),
    }
    return render(request, "inventory/stock_item.html", context)


@require_safe
@needs(Role.WAREHOUSE, Role.MANAGER)
def stock_trend(request: HttpRequest, code: str) -> HttpResponse:
    """How much of an item lay here day by day, and what is promised, as a drawing."""
    item, today = item_read(person_of(request), code), timezone.localdate()
    context = {
        "item": item,
        "drawn": trend.drawing(item, today),
        "levels": reversed(trend.levels(item, today)),
        "back": trend.BACK,
    }
    return render(request, "inventory/stock_trend.html", context)
