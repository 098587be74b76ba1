"""A press that prints labels at once, on the page of the thing itself."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from django import template
from django.template import RequestContext

from inventory import label_printing, print_queue
from inventory.views.labels import LAST

register = template.Library()


@register.inclusion_tag("inventory/parts/print_now.html", takes_context=True)
def print_now(
    context: RequestContext, codes: str | Iterable[str], words: str = "Print its label"
) -> dict[str, Any]:
    """A button for the printer this browser used last, or the only one; else a link to choose."""
    request = context["request"]
    texts = [codes] if isinstance(codes, str) else list(codes)
    printers = label_printing.in_use() if print_queue.there() else []
    last = [one for one in printers if one.pk == request.session.get(LAST)]
    chosen = (last or (printers if len(printers) == 1 else []))[:1]
    return {
        "codes": "\n".join(texts),
        "words": words,
        "printer": chosen[0] if chosen else None,
        "back": request.get_full_path(),
        "csrf_token": context.get("csrf_token"),
    }
