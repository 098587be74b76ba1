"""What a kit leaves to a person: each check is signed before the kit goes out.

A signature holds for the kit and for what is worked out again from the same parts list and the
same answers; another list or another answer asks anew.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

from inventory.lock import writing
from inventory.models import Item, Person
from inventory.words import amount
from kitting.models import CheckSigned, FamilyEdition, Job, Kit
from kitting.plan.proposing import usual_step
from kitting.snapshot import WorkedOut, question, told_there

CHECK = "check yourself: "
SIGNED = "signed by a person"


class NotSigned(ValueError):
    """A signature that cannot be taken; the message says what was expected and what came."""


@dataclass(frozen=True, slots=True)
class Check:
    """One thing that a person sees to."""

    question: str  # as the snapshot has it: how it is signed and found again
    need: str  # "bond", "tools: fix"; empty where revisions stand together on a condition
    signed: CheckSigned | None
    by_code: bool = False  # asked by the code of the place: nothing is taken for it
    before: CheckSigned | None = None  # what another job of the family was signed with last

    @property
    def in_words(self) -> bool:
        """Signed with words alone: what is taken for a check is a line of the kit."""
        return self.signed is not None and self.signed.item is None and not self.by_code

    @property
    def asked(self) -> str:
        """The question as a page asks it."""
        return worded(self.question)

    @property
    def answer(self) -> str:
        """What was signed, in words."""
        return said(self.signed) if self.signed is not None else ""

    @property
    def answer_before(self) -> str:
        """What another job was signed with, in words."""
        return said(self.before) if self.before is not None else ""


def said(row: CheckSigned) -> str:
    """Return what was signed, in words."""
    taken = amount(row.quantity, row.item) if row.item else ""
    return ", ".join(part for part in (taken, row.words) if part)


def worded(question: str) -> str:
    """Return the question of a check as a page asks it.

    >>> worded("check yourself: how is it earthed?")
    'How is it earthed?'
    """
    words = question.removeprefix(CHECK)
    return words[:1].upper() + words[1:]


def is_check(entry: Mapping[str, Any]) -> bool:
    """Whether an open question of a snapshot is a person's to sign: it has no answer to choose."""
    return not entry.get("axis")


def asked(kit: Kit) -> list[Mapping[str, Any]]:
    """Return the open questions about the site that somebody has to answer."""
    return [entry for entry in kit.snapshot["unresolved"] if not is_check(entry)]


def checks(kit: Kit) -> list[Check]:
    """Return what a person has to see to on a kit, in the list's order."""
    asked = [entry for entry in kit.snapshot["unresolved"] if is_check(entry)]
    if not asked:
        return []
    latest = _latest(kit.job_id, kit.edition_id, kit.snapshot["configuration"])
    local = {rule.question for rule in told_there(kit)}
    others = CheckSigned.objects.filter(kit__edition__name=kit.edition.name)
    others = others.exclude(kit__job=kit.job_id).filter(question__in=[e["question"] for e in asked])
    before = {row.question: row for row in others.select_related("kit", "item").order_by("pk")}
    return [
        Check(
            entry["question"],
            (entry.get("needs") or [""])[0],
            latest.get(entry["question"]),
            entry["question"] in local,
            None if entry["question"] in local else before.get(entry["question"]),
        )
        for entry in asked
    ]


def _latest(job: int, edition: int, answers: object) -> dict[str, CheckSigned]:
    """Question -> what was signed last for a job by this parts list with these answers."""
    rows = CheckSigned.objects.filter(kit__job=job, kit__edition=edition)
    return {
        row.question: row
        for row in rows.select_related("kit", "item", "by").order_by("pk")
        if row.kit.snapshot["configuration"] == answers
    }


def applied(job: Job, edition: FamilyEdition, result: WorkedOut) -> WorkedOut:
    """Return what was worked out with the items that people signed for it: they are picked too."""
    asked = [entry for entry in result.snapshot["unresolved"] if is_check(entry)]
    if not asked:
        return result
    signed = _latest(job.pk, edition.pk, result.snapshot["configuration"])
    lines = {(line["item"], line["step"]): line for line in result.lines}
    keys = [step["key"] for step in result.snapshot["steps"]]
    for entry in asked:
        row = signed.get(entry["question"])
        if row is not None and row.item is not None:
            step = usual_step(row.need, keys)
            key = (row.item.code, step)
            lines[key] = _line(lines.get(key) or _bare(row.item, step), row)
    return replace(result, lines=list(lines.values()))


def _bare(item: Item, step: str) -> dict[str, Any]:
    """A line of an item that the parts list does not name there."""
    told = {"item": item.code, "name": item.name, "tracking": item.tracking, "unit": item.unit}
    return {**told, "step": step, "quantity": 0, "reasons": [], "pieces": [], "alternatives": []}


def _line(line: Mapping[str, Any], row: CheckSigned) -> dict[str, Any]:
    """The line with what was signed besides."""
    assert row.item is not None, "only what names an item comes here"
    words = f"{amount(row.quantity, row.item)}, signed for this kit"
    reason = {"need": row.need, "rule": SIGNED, "arithmetic": words, "source": row.words}
    return {
        **line,
        "quantity": line["quantity"] + row.quantity,
        "pieces": [*line["pieces"], *([row.quantity] if row.item.unit == "mm" else [])],
        "reasons": [*line["reasons"], {**reason, "quantity": row.quantity}],
    }


def unsigned(kit: Kit) -> list[str]:
    """Return the questions that nobody has signed yet."""
    return [check.asked for check in checks(kit) if check.signed is None]


def left_open(kit: Kit) -> tuple[str, ...]:
    """Return what still keeps a kit back: questions to answer, checks to sign."""
    return (*(question(entry) for entry in asked(kit)), *unsigned(kit))


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
        if kit.released_at is not None and known[question].signed is not None:
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
