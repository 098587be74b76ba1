"""What a kit leaves to a person: each check is signed before the kit goes out.

A signature holds for the kit and for what is worked out again from the same parts list and the
same answers; another list or another answer asks anew.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from inventory.lock import writing
from inventory.models import Item, Person
from inventory.words import amount
from kitting.models import CheckSigned, Kit
from kitting.snapshot import question

CHECK = "check yourself: "


class NotSigned(ValueError):
    """A signature that cannot be taken; the message says what was expected and what came."""


@dataclass(frozen=True, slots=True)
class Check:
    """One thing that a person sees to."""

    question: str  # as the snapshot has it: how it is signed and found again
    need: str  # "bond", "tools: fix"; empty where revisions stand together on a condition
    signed: CheckSigned | None

    @property
    def asked(self) -> str:
        """The question as a page asks it."""
        words = self.question.removeprefix(CHECK)
        return words[:1].upper() + words[1:]

    @property
    def answer(self) -> str:
        """What was signed, in words."""
        if self.signed is None:
            return ""
        item = self.signed.item
        taken = amount(self.signed.quantity, item) if item else ""
        return ", ".join(part for part in (taken, self.signed.words) if part)


def is_check(entry: Mapping[str, Any]) -> bool:
    """Whether an open question of a snapshot is a person's to sign: it has no answer to choose."""
    return not entry.get("axis")


def checks(kit: Kit) -> list[Check]:
    """Return what a person has to see to on a kit, in the list's order."""
    asked = [entry for entry in kit.snapshot["unresolved"] if is_check(entry)]
    if not asked:
        return []
    given = CheckSigned.objects.filter(kit__job=kit.job_id, kit__edition=kit.edition_id)
    latest: dict[str, CheckSigned] = {}
    for row in given.select_related("kit", "item", "by").order_by("pk"):
        if row.kit.snapshot["configuration"] == kit.snapshot["configuration"]:
            latest[row.question] = row
    return [
        Check(entry["question"], (entry.get("needs") or [""])[0], latest.get(entry["question"]))
        for entry in asked
    ]


def unsigned(kit: Kit) -> list[str]:
    """Return the questions that nobody has signed yet."""
    return [check.asked for check in checks(kit) if check.signed is None]


def left_open(kit: Kit) -> tuple[str, ...]:
    """Return what still keeps a kit back: questions to answer, checks to sign."""
    entries = kit.snapshot["unresolved"]
    asked = (question(entry) for entry in entries if not is_check(entry))
    return (*asked, *unsigned(kit))


def sign(
    kit: Kit, question: str, by: Person, *, item: Item | None, quantity: int, words: str
) -> CheckSigned:
    """Sign one check: what is taken for it (base units), or in words what was found.

    Raises NotSigned.
    """
    words = " ".join(words.split())[:200]
    with writing():
        kit.refresh_from_db()
        known = {check.question: check for check in checks(kit)}
        if question not in known:
            raise NotSigned(f"Expected a question of {kit.code}, got {question[:60]!r}")
        if kit.released_at is not None:
            raise NotSigned(f"{kit.code} is released: its checks are signed before")
        if item is None and not words:
            raise NotSigned("Expected an item with how many, or some words, got nothing")
        if item is not None and quantity < 1:
            raise NotSigned(f"How many of {item.name}: expected 1 or more, got {quantity}")
        return CheckSigned.objects.create(
            kit=kit,
            question=question,
            need=known[question].need,
            item=item,
            quantity=quantity if item is not None else 0,
            words=words,
            by=by,
        )
