"""One of what grows with the firm: places, items. A list while it is short; where it is long one
types, and what has these letters in it is offered.

Known by its code, by what was offered ("Bin 1, Dock (B01)"), or by a name that only one has.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import reduce
from typing import Any, Final

from django import forms
from django.core.exceptions import ValidationError
from django.db.models import Model, Q, QuerySet
from django.template.loader import render_to_string

from inventory.models import Item, Place
from inventory.templatetags.amounts import beside

SHORT: Final = 40
"""Lines that one looks through on a phone; what is longer is typed into."""
CODE = re.compile(r"\(([^()]+)\)$")


@dataclass(frozen=True, slots=True)
class Offered:
    """One that can be chosen."""

    code: str  # what is sent of it
    words: str  # as a list shows it
    chosen: bool = False

    @property
    def said(self) -> str:
        """What stands in the field once it is chosen there: words that name it alone."""
        return self.words if self.words == self.code else f"{self.words} ({self.code})"


def drawn(
    attrs: dict[str, Any],
    offered: Sequence[Offered],
    empty: str | None,
    of: str = "",
    sent: str = "",
) -> str:
    """Return the field. attrs: of its tag, name and id among them.

    empty: the words for none, None where one must be chosen; of: id of a field of this page that
    offers the same; sent: what was typed, if it means none of them.
    """
    chosen = next((one.said for one in offered if one.chosen), sent)
    context = {
        "attrs": {name: value for name, value in attrs.items() if value not in (None, False)},
        "offered": offered,
        "long": len(offered) > SHORT,
        "chosen": chosen,
        "empty": empty,
        "of": of,
    }
    return render_to_string("parts/listed.html", context)


class Listed(forms.Select):
    """The same as a widget of a form."""

    def render(self, name: str, value: Any, attrs: Any = None, renderer: Any = None) -> Any:
        """Draw a list or a field to type into, by how many there are."""
        asked = self.get_context(name, value, attrs)["widget"]
        lines = [line for _, group, _ in asked["optgroups"] for line in group]
        empty = next((str(line["label"]) for line in lines if not str(line["value"])), None)
        offered = [
            Offered(str(line["value"]), str(line["label"]), bool(line["selected"]))
            for line in lines
            if str(line["value"])
        ]
        return drawn({"name": name, **asked["attrs"]}, offered, empty, sent=str(value or ""))


class ListedField(forms.ModelChoiceField):  # type: ignore[type-arg]  # of any table with codes
    """One row of a table that grows, by its code."""

    widget = Listed

    def __init__(
        self, queryset: QuerySet[Any], *, code: str = "code", named: str = "name", **kwargs: Any
    ) -> None:
        """code, named: the fields of it that are typed; kwargs: as Django's field."""
        self.named = named
        super().__init__(queryset, to_field_name=code, **kwargs)

    def label_from_instance(self, obj: Any) -> str:
        """Its name; a place with the one around it."""
        return _words(obj)

    def prepare_value(self, value: Any) -> Any:
        """The code of a row; what was typed stays."""
        if not isinstance(value, Model):
            return value
        return reduce(getattr, str(self.to_field_name).split("__"), value)

    def to_python(self, value: Any) -> Any:
        """Return the row that a sent code or a typed text means. Raises ValidationError."""
        return super().to_python(self._code(value.strip()) if isinstance(value, str) else value)

    def meant(self, text: str) -> Any:
        """The row that a text means, None where it means none."""
        try:
            return self.clean(text)
        except ValidationError:
            return None

    def _code(self, text: str) -> str:
        rows, by, inside = self.queryset, str(self.to_field_name), CODE.search(text)
        assert rows is not None
        for code in (text, inside[1] if inside else ""):
            if code and rows.filter(**{by: code}).exists():
                return code
        alike = rows.filter(Q(**{f"{by}__iexact": text}) | Q(**{f"{self.named}__iexact": text}))
        codes = list(alike.values_list(by, flat=True)[:2])
        return codes[0] if text and len(codes) == 1 else text


def offered_of(rows: Iterable[Any], chosen: Any = None) -> list[Offered]:
    """Return what a page offers of places or items; chosen: one of them, or its code."""
    code = getattr(chosen, "code", chosen)
    return [Offered(one.code, _words(one), one.code == code) for one in rows]


def _words(one: Any) -> str:
    if isinstance(one, Place):
        return beside(one)
    return one.name if isinstance(one, Item) else str(one)
