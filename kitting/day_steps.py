"""The pages of a job in the order of its work, each kind of job with its own; what comes next."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from kitting.models import JobKind

ALL: Final = frozenset(JobKind.values)


@dataclass(frozen=True, slots=True)
class Step:
    """One page of the work."""

    page: str  # name of its route
    words: str
    kinds: frozenset[str]  # of jobs that have it


STEPS: Final = (
    Step("my_load", "Take the van over", ALL),
    Step("my_unbox", "Unbox", ALL - {JobKind.REMOVAL}),
    Step("my_fit", "Fit", frozenset({JobKind.NEW, JobKind.EXPANSION})),
    Step("my_swap", "Swap", frozenset({JobKind.SWAP})),
    Step("my_start", "Start up", ALL - {JobKind.REMOVAL}),
    Step("my_down", "Take down", frozenset({JobKind.EXPANSION, JobKind.REMOVAL})),
    Step("my_back", "Finish", ALL),
)


def of(kind: str) -> list[Step]:
    """The pages of a kind of job, in order; the last one finishes it."""
    return [step for step in STEPS if kind in step.kinds]


def after(kind: str, page: str) -> Step | None:
    """What comes after a page; None behind the last, and for a page that is no step."""
    steps = of(kind)
    pages = [step.page for step in steps]
    rest = steps[pages.index(page) + 1 :] if page in pages else []
    return rest[0] if rest else None
