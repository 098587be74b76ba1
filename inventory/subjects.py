"""What an event is about is an opaque text here ("kit:J1042-1"); the upper house explains it."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass

from inventory.models import Person


@dataclass(frozen=True, slots=True)
class Named:
    """How a page shows a subject."""

    words: str  # "Kit J1042-1"
    address: str  # of its page


@dataclass(frozen=True, slots=True)
class Sort:
    """What the upper house knows about subjects of one prefix."""

    may_see: Callable[[Person, str], bool]
    names: Callable[[Iterable[str]], dict[str, Named]]  # those it knows, in one question


_SORTS: dict[str, Sort] = {}


def register(prefix: str, sort: Sort) -> None:
    """Explain subjects "<prefix>:<code>"."""
    _SORTS[prefix] = sort


def split(subject: str) -> tuple[str, str] | None:
    """Return prefix and code of a subject, or None if it is not one."""
    prefix, _, code = subject.partition(":")
    return (prefix, code) if prefix and code else None


def may_see(person: Person, subject: str) -> bool:
    """Whether the upper house lets this person see what is about this subject."""
    parts = split(subject)
    sort = _SORTS.get(parts[0]) if parts else None
    return parts is not None and sort is not None and sort.may_see(person, parts[1])


def named(subjects: Iterable[str]) -> dict[str, Named]:
    """Return how to show each subject that anybody can explain."""
    asked: dict[str, dict[str, str]] = {}
    for subject in subjects:
        parts = split(subject)
        if parts:
            asked.setdefault(parts[0], {})[parts[1]] = subject
    return {
        codes[code]: shown
        for prefix, codes in asked.items()
        if prefix in _SORTS
        for code, shown in _SORTS[prefix].names(codes).items()
    }
