"""The audit: a flat list of small checks, each recomputes one thing from the events.

`run` returns what each check read and found; nothing is raised and nothing is changed. The upper
house adds its own checks here and its state to the digest (`digest.register_section`).
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from django.db import transaction
from django.db.models import QuerySet

from inventory import rebuilding
from inventory.checks import boxes, charging, claims, files, pieces, record, stock
from inventory.checks.report import Check, Report
from inventory.ledger.sequence import missing
from inventory.lock import writing

_MORE: list[Check] = []  # of the upper house
_ANEW: list[Callable[[], None]] = []  # what makes the upper house's side tables anew


@dataclass(frozen=True, slots=True)
class Finished:
    """What became of one check."""

    name: str
    read: int  # rows
    problems: tuple[str, ...]


def register_check(check: Check) -> None:
    """Add a check of the upper house."""
    if check not in _MORE:
        _MORE.append(check)


def register_rebuild(rebuilds: Callable[[], None]) -> None:
    """Let a side table of the upper house be made anew by `rebuild`, after the stock's."""
    if rebuilds not in _ANEW:
        _ANEW.append(rebuilds)


def run(more: Sequence[Check] = ()) -> list[Finished]:
    """Run every check, and those asked for besides, on one state of the database."""
    # One transaction, taken like a writer's: no event arrives between two checks.
    with writing():
        return [
            _finish(check)
            for check in (
                *record.CHECKS,
                *stock.checks(),
                *boxes.CHECKS,
                *claims.CHECKS,
                *charging.CHECKS,
                *pieces.CHECKS,
                *files.CHECKS,
                *_MORE,
                *more,
            )
        ]


def _finish(check: Check) -> Finished:
    try:
        with transaction.atomic():
            report = check.run()
    except Exception as error:  # noqa: BLE001  a check that falls over has not passed
        report = Report(problems=[f"fell over: {type(error).__name__}: {error}"])
    if not report.read and not report.problems and QuerySet(check.table).exists():
        report.problems.append(f"read nothing, though there are rows of {check.table.__name__}")
    return Finished(check.name, report.read, tuple(report.problems))


def rebuild() -> None:
    """Write the side tables anew from the ledger: holdings, places, boxes, devices' numbers."""
    with writing():
        seqs, devices = stock.gathered()
        rebuilding.rebuild(
            stock.fold().book,
            {device: missing(seqs.get(device, [])) for device in devices},
            {device: max(seqs.get(device, [0])) for device in devices},
        )
        for rebuilds in _ANEW:
            rebuilds()
