"""The week: each job with how it stands and why it may break."""

from datetime import date, timedelta

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_safe

from inventory import ordering
from inventory.access import needs, person_of
from inventory.models import Role
from inventory.once import once
from inventory.order_forms import PromiseForm, SeveralForm
from kitting import board, breaking, overdue, overviews
from kitting.access import jobs_of
from kitting.first_day import first_steps


@require_safe
@needs(Role.MANAGER)
def week(request: HttpRequest) -> HttpResponse:
    """Show seven days from `from` (ISO date), else from this week's Monday."""
    today = timezone.localdate()
    first = _asked(request.GET.get("from", "")) or today - timedelta(days=today.weekday())
    person = person_of(request)
    days = overviews.week(person, first, today)
    rows = [row for day in days for row in day.rows]
    troubled = [row for row in rows if row.readiness.tone in ("stop", "warn")]
    now = first <= today < first + timedelta(days=overviews.DAYS)
    context = {
        "days": days,
        "lanes": board.lanes(days),
        "legend": board.LEGEND,
        "today": today,
        "before": first - timedelta(days=overviews.DAYS),
        "after": first + timedelta(days=overviews.DAYS),
        "breaking": [row for row in troubled if row.readiness.reasons],
        "together": board.together(troubled),
        "overdue": overdue.jobs(jobs_of(person), today) if now else [],
        "near": None if rows else overdue.near(jobs_of(person), first, overviews.DAYS),
        "first_steps": first_steps(),
    }
    return render(request, "kitting/week.html", context)


@require_http_methods(["GET", "HEAD", "POST"])
@needs(Role.WAREHOUSE, Role.MANAGER)
@once
def to_order(request: HttpRequest) -> HttpResponse:
    """What to order today, and by when the rest; what was ordered of it is entered in one go."""
    today, person = timezone.localdate(), person_of(request)
    jobs = jobs_of(person).filter(cancelled_at=None)
    jobs = jobs.filter(kits__released_at__isnull=False, kits__closed_by=None).distinct()
    rows = overviews.rows_of(jobs.order_by("date", "code"), today)
    found = breaking.to_order([one for row in rows for one in row.breaks], today)
    form = SeveralForm(request.POST or None, [(one.item, one.quantity) for one in found])
    if request.method == "POST" and form.is_valid():
        order = {name: form.cleaned_data[name] for name in PromiseForm.base_fields}
        lines = ordering.enter_all(person, timezone.now(), form.ordered(), **order)
        if lines:
            messages.success(request, ordering.told(lines))
            return redirect("to_order")
        form.add_error(None, "Expected how many of something, got none of anything")
    context = {
        "rows": [(one, form.of(one.item)) for one in found],
        "form": form,
        "today": today,
        "here": [row for row in rows if row.stand_ins],
    }
    return render(request, "kitting/to_order.html", context)


def _asked(text: str) -> date | None:
    try:
        day = date.fromisoformat(text)
    except ValueError:
        return None
    # Far-off days would run past the calendar's ends.
    return day if 2000 <= day.year <= 2999 else None
