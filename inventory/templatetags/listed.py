"""A field for one of what grows with the firm, on pages that are no Django form."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from django import template

from inventory.listed import drawn, offered_of

register = template.Library()


@register.simple_tag
def choose(
    name: str,
    rows: Iterable[Any],
    field_id: str = "",
    chosen: Any = None,
    empty: str | None = None,
    of: str = "",
    required: bool = False,
) -> str:
    """Draw it (see inventory/listed.py); field_id: of its tag, its name unless another is given."""
    attrs = {"id": field_id or name, "name": name, "required": required}
    return drawn(attrs, offered_of(rows, chosen), empty, of)
