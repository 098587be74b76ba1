"""What a check of the ledger hands back."""

from collections.abc import Callable
from dataclasses import dataclass, field

from django.db.models import Model


@dataclass(slots=True)
class Report:
    """What one check read and what it found wrong; problems are values, nothing is raised."""

    read: int = 0  # rows looked at
    problems: list[str] = field(default_factory=list)  # each names the row and the breach

    def expect(self, holds: bool, problem: str) -> None:
        """Note a problem unless what should hold does."""
        if not holds:
            self.problems.append(problem)


@dataclass(frozen=True, slots=True)
class Check:
    """One law of the ledger."""

    name: str  # words, present tense: what holds
    table: type[Model]  # whose rows it reads: with rows there, reading none is a breach
    run: Callable[[], Report]
