"""What the code of a place asks: distances and places that a person judges there, labels and signs.

Source: tables/local_rules.csv, each row with its own; figures come from tables/siting_rules.csv. It
tells what a rule says and who decides; whether a place will do is judged by people who see it.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING, Final

from kitting.plan import lookup

if TYPE_CHECKING:
    from kitting.plan.family import Family

JUDGED: Final = ("distance", "place")
"""Kinds that ask a question at the site; the others are put up there."""
JOBS: Final = ("new", "expansion")
"""Jobs after which more stands in a place than before."""
REGION: Final = "region"
"""Axis by which a family asks for the code of the place."""
_KEY: Final = re.compile(r"\{([^{}]+)\}")


@dataclass(frozen=True, slots=True)
class LocalRule:
    """One thing that a code asks."""

    code: str
    """With its edition: "PAS 63100:2024"."""
    kind: str
    """distance, place, label or sign."""
    asks: str
    """Question to a person at the site; empty for a label or sign."""
    words: str
    source: str
    decides: str
    """Who has the last word; never this program."""

    @property
    def question(self) -> str:
        """What is asked, with what the rule says: how a person's answer is signed and found."""
        return f"{self.asks} {self.words.removesuffix('.')} ({self.code})."

    @property
    def judged(self) -> bool:
        """Whether a person answers it at the site."""
        return self.kind in JUDGED


@cache
def codes() -> tuple[str, ...]:
    """Every code with its edition that the table knows.

    >>> codes()[:2]
    ('continental', 'PAS 63100:2024')
    """
    return tuple(dict.fromkeys(row["code"] for row in lookup.table("local_rules").rows))


@cache
def rules(code: str) -> tuple[LocalRule, ...]:
    """What a code asks, in the order of the table; nothing for one it does not know.

    >>> rules("PAS 63100:2024")[2].words
    'At least 2 m to stored flammables.'
    """
    return tuple(
        LocalRule(
            row["code"],
            row["kind"],
            row["asks"],
            _KEY.sub(lambda found: _figures()[found.group(1)], row["words"]),
            row["source"],
            row["decides"],
        )
        for row in lookup.table("local_rules").rows
        if row["code"] == code
    )


def at(code: str, family: Family, job: str) -> tuple[LocalRule, ...]:
    """What a code asks of a job. A family that asks for the region tells of it by its own rules."""
    return rules(code) if job in JOBS and REGION not in family.axes else ()


@cache
def _figures() -> dict[str, str]:
    return {row["of"]: row["value"] for row in lookup.table("siting_rules").rows}
