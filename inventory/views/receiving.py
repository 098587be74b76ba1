"""Goods-in and put-away: what the warehouse scans at the dock and at the bins."""

from datetime import timedelta
from typing import Final

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from inventory import teaching
from inventory.access import needs
from inventory.models import Role
from inventory.overviews import docks, our_places

SHIFT: Final = timedelta(hours=12)
"""An unknown code is asked about at the dock while the thing lies there; later it is a problem."""


@require_safe
@needs(Role.WAREHOUSE, Role.MANAGER)
def goods_in(request: HttpRequest) -> HttpResponse:
    """Receive: box and serial, a serial alone, or an item and how many."""
    today = teaching.told("", timezone.now() - SHIFT)
    return render(request, "inventory/goods_in.html", {"docks": docks(), **today})


@require_safe
@needs(Role.WAREHOUSE, Role.MANAGER)
def put_away(request: HttpRequest) -> HttpResponse:
    """Put things where they stand: scan the place, then the things."""
    return render(request, "inventory/put_away.html", {"places": our_places()})
