"""What of a recall's rule the database can be asked: rows of which most are named, and few others.

Every thing that the rule hits is among them; what is among them is judged one by one, see naming.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from typing import TypeVar

from django.db.models import Q, QuerySet

from inventory.codes.recall_judging import plain
from inventory.codes.recall_rule import Row, Rule, Span
from inventory.models import Lot

T = TypeVar("T")
LISTED, TYPED = 2000, 100  # serials, and prefixes or ranges, that one question is about
UPS = ("key", "parent__key", "parent__parent__key")  # a batch and what it was taken from


def parts_of(rule: Rule) -> list[Row]:
    """Cut a rule into rows that the database is asked about in a moment each."""
    return [
        replace(row, prefixes=prefixes, spans=spans, serials=serials)
        for row in rule.rows
        for prefixes in _some(row.prefixes, TYPED)
        for spans in _some(row.spans, TYPED)
        for serials in _some(row.serials, LISTED)
    ]


def _some(values: tuple[T, ...], most: int) -> list[tuple[T, ...]]:
    return [values[start : start + most] for start in range(0, len(values) or 1, most)]


def of_models(models: Iterable[str], names: dict[int, frozenset[str]]) -> list[int]:
    """Return ids of the items that models name; names: item id -> folded texts."""
    wanted = {plain(model) for model in models}
    return [pk for pk, known in names.items() if wanted & known]


def units_of(row: Row, names: dict[int, frozenset[str]], by: str, unit: str) -> Q:
    """What the database must find for a hit by this row.

    by: where the serial stands; unit: the way from there to the unit's own fields.
    """
    found = Q()
    if row.models:
        found &= Q(**{f"{unit}item__in": of_models(row.models, names)})
    if row.made:
        found &= Q(**{f"{unit}made_on__range": row.made})
    if row.lots:
        found &= _of_lots(row.lots, f"{unit}lot__")
    if row.prefixes:
        found &= _any(Q(**{f"{by}__startswith": prefix}) for prefix in row.prefixes)
    if row.spans:
        found &= _any(_within(by, span) for span in row.spans)
    if row.serials:
        found &= Q(**{f"{by}__in": row.serials})
    return found


def _of_lots(lots: Sequence[str], lot: str) -> Q:
    return _any(Q(**{f"{lot}{up}__in": lots}) for up in UPS)


def _within(by: str, span: Span) -> Q:
    """Texts that differ in one number of so many digits are ordered as their numbers are."""
    ends = {f"{by}__startswith": span.left, f"{by}__endswith": span.right}
    return Q(**ends, **{f"{by}__range": span.ends})


def _any(some: Iterable[Q]) -> Q:
    found = Q()
    for one in some:
        found |= one
    return found


def batches_of(lots: QuerySet[Lot], row: Row, names: dict[int, frozenset[str]]) -> QuerySet[Lot]:
    """Batches, reels and opened packs that a row may name: those of its item, or of its number."""
    found = lots.exclude(item__tracking="serial")
    if not row.models and not row.lots:
        return found.none()
    if row.models:
        found = found.filter(item__in=of_models(row.models, names))
    return found.filter(_of_lots(row.lots, "")) if row.lots else found
