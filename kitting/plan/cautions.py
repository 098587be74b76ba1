"""Cautions belong to the result: the engine adds them by step, need and job, and no family can drop
one.

Source: common practice, no published source; each names the maker's manual, the local code or a
licensed person as deciding.
"""

from collections.abc import Iterator
from dataclasses import dataclass

from kitting.plan import lookup
from kitting.plan.meeting import Met


@dataclass(frozen=True, slots=True)
class Caution:
    """One warning at one step."""

    key: str
    step: str
    words: str
    decides: str
    """Who decides: never this program."""


def of(job: str, met: Met, steps: tuple[str, ...]) -> tuple[Caution, ...]:
    """The cautions of a kit, in the order of its steps."""
    found = [
        Caution(row["key"], step, row["words"], row["decides"])
        for row in lookup.table("cautions").rows
        for step in _steps(row, job, met)
        if step in steps
    ]
    return tuple(sorted(found, key=lambda caution: steps.index(caution.step)))


def _steps(row: dict[str, str], job: str, met: Met) -> Iterator[str]:
    kind, _, wanted = row["trigger"].partition(":")
    match kind:
        case "always":
            yield row["step"]
        case "job" if job == wanted:
            yield row["step"]
        case "step" if wanted in {*(e.step for e in met.entries), *(t.step for t in met.tasks)}:
            yield wanted
        case "need":
            yield from dict.fromkeys(e.step for e in met.entries if e.demand.need == wanted)
        case "way":
            yield from dict.fromkeys(e.step for e in met.entries if e.rule.way == wanted)
