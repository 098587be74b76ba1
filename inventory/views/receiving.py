"""Goods-in and put-away: what the warehouse scans at the dock and at the bins."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from inventory.access import needs
from inventory.models import Role
from inventory.overviews import docks, our_places


@require_safe
@needs(Role.WAREHOUSE, Role.MANAGER)
def goods_in(request: HttpRequest) -> HttpResponse:
    """Receive: box and serial, a serial alone, or an item and how many."""
    return render(request, "inventory/goods_in.html", {"docks": docks()})


@require_safe
@needs(Role.WAREHOUSE, Role.MANAGER)
def put_away(request: HttpRequest) -> HttpResponse:
    """Put things where they stand: scan the place, then the things."""
    return render(request, "inventory/put_away.html", {"places": our_places()})
