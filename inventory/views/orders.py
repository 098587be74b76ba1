"""What is on order, and the stock as it was at the end of any day."""

from collections.abc import Sequence
from datetime import date

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_safe

from inventory import ordering
from inventory.access import needs, person_of
from inventory.models import Item, OrderLine, Role
from inventory.once import once
from inventory.order_forms import DayForm, OrderForm
from inventory.stock_on import Row, stock_on, totals
from inventory.workbooks import Sheet, workbook

XLSX = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"
HEAD = ("Place", "In it", "Item", "Name", "Batch", "Use by", "Quantity", "Unit", "Value")
ABOUT = "Rebuilt from the movements of the ledger. Value: by the cost of each item as it is today."


@require_http_methods(["GET", "HEAD", "POST"])
@needs(Role.WAREHOUSE, Role.MANAGER)
@once
def on_order(request: HttpRequest) -> HttpResponse:
    """List what is still to come, the earliest promise first; enter a line or close one."""
    now, person = timezone.now(), person_of(request)
    if "close" in request.POST:
        ordering.close(_line(request.POST["close"]), now, person)
        messages.success(request, "Closed: the rest will not come.")
        return redirect("on_order")
    form = OrderForm(request.POST or None, initial=_begun(request))
    if request.method == "POST" and form.is_valid():
        line = ordering.enter(person, now, **form.cleaned_data)
        messages.success(request, ordering.told([line]))
        return redirect("on_order")
    today = now.date()
    rows = [(one, one.late(today)) for one in ordering.awaited()]
    return render(request, "inventory/on_order.html", {"form": form, "rows": rows})


def _begun(request: HttpRequest) -> dict[str, object]:
    """What a link from another page fills in: `item` by its number, `quantity` in base units."""
    item = Item.objects.filter(code=request.GET.get("item", "")).first()
    return {"item": item, "quantity": request.GET.get("quantity", "")} if item else {}


def _line(pk: str) -> OrderLine:
    line = OrderLine.objects.filter(pk=pk).first() if pk.isascii() and pk.isdigit() else None
    if line is None:
        raise Http404
    return line


@require_safe
@needs(Role.WAREHOUSE, Role.MANAGER)
def stock_then(request: HttpRequest) -> HttpResponse:
    """The stock at the end of `day`, by place with its value; `as=xlsx` gives it as a file."""
    form = DayForm(request.GET if "day" in request.GET else None)
    day = form.cleaned_data["day"] if form.is_valid() else None
    rows = stock_on(day) if day else []
    if day and request.GET.get("as") == "xlsx":
        answer = HttpResponse(_file(rows, day), content_type=XLSX)
        answer.headers["Content-Disposition"] = f'attachment; filename="stock-{day}.xlsx"'
        return answer
    places = totals(rows)
    context = {
        "form": form,
        "day": day,
        "places": places,
        "value": sum(value for _, _, value in places),
        "unpriced": len({row.item.pk for row in rows if not row.item.cost}),
    }
    return render(request, "inventory/stock_then.html", context)


def _file(rows: Sequence[Row], day: date) -> bytes:
    lines = [
        (
            row.shelf,
            ", ".join(row.where[2:]),
            row.item.code,
            row.item.name,
            row.lot.number,
            row.lot.expires_on.isoformat() if row.lot.expires_on else "",
            row.quantity,
            row.item.unit,
            row.value / 100,
        )
        for row in rows
    ]
    sums = [(place, count, value / 100) for place, count, value in totals(list(rows))]
    return workbook(
        (
            Sheet("Stock", (HEAD, *lines), (30, 24, 16, 34, 16, 12, 12, 8, 12)),
            Sheet("By place", (("Place", "Lines", "Value"), *sums), (40, 10, 14)),
            Sheet("About", (("Stock at the end of", day.isoformat()), (ABOUT, "")), (60, 14)),
        )
    )
