"""The week: each job with how it stands and why it may break."""

from datetime import date, timedelta

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from inventory.access import needs, person_of
from inventory.models import Role
from kitting import overviews


@require_safe
@needs(Role.MANAGER)
def week(request: HttpRequest) -> HttpResponse:
    """Show seven days from `from` (ISO date), else from this week's Monday."""
    today = timezone.localdate()
    first = _asked(request.GET.get("from", "")) or today - timedelta(days=today.weekday())
    days = overviews.week(person_of(request), first)
    rows = [row for day in days for row in day.rows]
    context = {
        "days": days,
        "today": today,
        "before": first - timedelta(days=overviews.DAYS),
        "after": first + timedelta(days=overviews.DAYS),
        "breaking": [row for row in rows if row.readiness.tone in ("stop", "warn")],
    }
    return render(request, "kitting/week.html", context)


def _asked(text: str) -> date | None:
    try:
        day = date.fromisoformat(text)
    except ValueError:
        return None
    # Far-off days would run past the calendar's ends.
    return day if 2000 <= day.year <= 2999 else None
