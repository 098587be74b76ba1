"""What an event is about is an opaque text here ("kit:<uuid>"); the upper house explains it."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from uuid import UUID

from inventory.models import Person


@dataclass(frozen=True, slots=True)
class Named:
    """How a page shows a subject."""

    words: str  # "Kit J1042-1"
    address: str  # of its page


@dataclass(frozen=True, slots=True)
class Sort:
    """What the upper house knows about subjects of one prefix."""

    may_see: Callable[[Person, UUID], bool]
    names: Callable[[Iterable[UUID]], dict[UUID, Named]]  # those it knows, in one question


_SORTS: dict[str, Sort] = {}


def register(prefix: str, sort: Sort) -> None:
    """Explain subjects "<prefix>:<uuid>"."""
    _SORTS[prefix] = sort


def split(subject: str) -> tuple[str, UUID] | None:
    """Return prefix and id of a subject, or None if it is not one."""
    prefix, _, name = subject.partition(":")
    try:
        return prefix, UUID(name)
    except ValueError:
        return None


def may_see(person: Person, subject: str) -> bool:
    """Whether the upper house lets this person see what is about this subject."""
    parts = split(subject)
    sort = _SORTS.get(parts[0]) if parts else None
    return parts is not None and sort is not None and sort.may_see(person, parts[1])


def named(subjects: Iterable[str]) -> dict[str, Named]:
    """Return how to show each subject that anybody can explain."""
    asked: dict[str, dict[UUID, str]] = {}
    for subject in subjects:
        parts = split(subject)
        if parts:
            asked.setdefault(parts[0], {})[parts[1]] = subject
    return {
        ids[uid]: shown
        for prefix, ids in asked.items()
        if prefix in _SORTS
        for uid, shown in _SORTS[prefix].names(ids).items()
    }
