"""What a rule can read: the answers about one site, and what the need in hand carries."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Final

UNKNOWN: Final = "unknown"
SHAPE: Final = "stacks"
"""Under this name every reading of the stacks is noted, whichever of the names below was read."""
SHAPE_NAMES: Final = frozenset({"stacks", "modules", "total_modules"})
COMPUTED: Final = (*sorted(SHAPE_NAMES), "job")
HEIGHT: Final = "height"
"""mm from foot to top of the stack of the need; of the tallest in a need of the whole system."""

Value = int | str | None


@dataclass(frozen=True, slots=True)
class Asked:
    """A measure that is an answer about the site; read only when a rule wants it."""

    axis: str


Measures = Mapping[str, int | str | Asked]


class UnknownInput(Exception):
    """Something hangs on an answer that is still "unknown"; `axis` names it."""

    def __init__(self, axis: str) -> None:
        self.axis = axis
        super().__init__(axis)


class Site:
    """The answers of one configuration; `seen`, where set, collects the names that are read."""

    __slots__ = ("answers", "seen", "shape", "tall")

    def __init__(
        self,
        shape: tuple[int, ...],
        answers: Mapping[str, Value],
        job: str,
        tall: Callable[[Scope], int] | None = None,
    ) -> None:
        """`shape`: modules of each stack; an answer is None where the question does not arise.

        `tall`: mm of a stack by its outlines; without it nothing may ask for the height.
        """
        self.shape = shape
        self.tall = tall
        self.seen: set[str] | None = None
        self.answers: dict[str, Value] = {
            **answers,
            "stacks": len(shape),
            "modules": max(shape),
            "total_modules": sum(shape),
            "job": job,
        }

    def read(self, name: str) -> Value:
        """The answer; noted in `seen`. Raises UnknownInput where it is "unknown"."""
        if self.seen is not None:
            self.seen.add(SHAPE if name in SHAPE_NAMES else name)
        value = self.answers.get(name)
        if value == UNKNOWN:
            raise UnknownInput(name)
        return value

    def stacks(self) -> tuple[int, ...]:
        """Modules of each stack, noted as read."""
        if self.seen is not None:
            self.seen.add(SHAPE)
        return self.shape

    def height(self, measures: Measures) -> int:
        """mm of the stack a need belongs to, or of the tallest. Raises UnknownInput."""
        assert self.tall is not None, "expected a site with outlines, got one without"
        if "modules" in measures:
            return self.tall(Scope(self, measures))
        stacks = enumerate(self.stacks(), 1)
        return max(self.tall(Scope(self, {"stack": s, "modules": m})) for s, m in stacks)

    def having(self, axis: str, value: Value) -> Site:
        """The same site with one answer changed."""
        answers = {**self.answers, axis: value}
        changed = Site(self.shape, answers, str(self.answers["job"]), self.tall)
        changed.seen = self.seen
        return changed

    def for_job(self, job: str) -> Site:
        """The same site asked for another job."""
        if self.answers["job"] == job:
            return self
        changed = Site(self.shape, self.answers, job, self.tall)
        changed.seen = self.seen
        return changed


class Scope:
    """A site seen from one need: what the need carries comes first."""

    __slots__ = ("measures", "site")

    def __init__(self, site: Site, measures: Measures) -> None:
        self.site = site
        self.measures = measures

    def read(self, name: str) -> Value:
        """The need's own measure, else the site's answer."""
        value = self.measures.get(name)
        if value is None:
            return self.site.height(self.measures) if name == HEIGHT else self.site.read(name)
        return self.site.read(value.axis) if isinstance(value, Asked) else value

    def number(self, name: str) -> int:
        """A number; a name that carries none here counts as 0."""
        value = self.read(name)
        return value if isinstance(value, int) else 0
