"""The whole chain of a thing, and what happened about a delivery, a job or a person."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from inventory import standing_now, subjects
from inventory.access import needs, person_of
from inventory.look_back import look_back
from inventory.models import Role
from inventory.way import drawn

ONE_THING = ("unit", "box", "place")  # what stands in one place at a time

LABELLED = ("unit", "place", "lot")  # what a label of ours may be printed for here
SHOWN = 40  # newest events; the others behind a press


@require_safe
@needs(Role.WAREHOUSE, Role.MANAGER)
def trace(request: HttpRequest) -> HttpResponse:
    """Show where the thing of `code` came from, went, and who saw it; newest first.

    What one person did is for managers.
    """
    code = request.GET.get("code", "").strip()[:500]
    people = person_of(request).has(Role.MANAGER)
    chain, page = look_back(code, people=people) if code else (None, "")
    sites = {chain.site, *(row.site for row in chain.things)} if chain else set()
    links = list(reversed(chain.links)) if chain else []
    known = subjects.named(f"site:{site}" for site in sites if site)
    at = {subject.removeprefix("site:"): named for subject, named in known.items()}
    context = {
        "code": code,
        "chain": chain,
        "links": links if "all" in request.GET else links[:SHOWN],
        "told": len(links),
        "way": drawn(chain.links) if chain and chain.kind in ONE_THING else None,
        "things": [(row, at.get(row.site)) for row in chain.things] if chain else [],
        "most": standing_now.most_of(chain.things) if chain else 0,
        "site": at.get(chain.site) if chain else None,
        "page": page,
        "label": code if chain and chain.kind in LABELLED else "",
        "people": people,
    }
    return render(request, "inventory/trace.html", context)
