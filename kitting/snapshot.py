"""What a kit keeps of the day it was worked out, so that it can be read without the engine."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, dataclass
from typing import Any

from django.conf import settings

from kitting import families
from kitting.models import FamilyEdition, Kit
from kitting.plan import configuration as configurations
from kitting.plan import kit as plan
from kitting.plan import layout, local_rules
from kitting.plan.local_rules import LocalRule

STANDING = ("unit", "head", "base", "cap")  # boxes of the drawing that are units with a place


@dataclass(frozen=True, slots=True)
class WorkedOut:
    """The engine's answer, ready to be stored."""

    lines: list[dict[str, Any]]  # item, quantity, unit, step, reasons, in the kit's order
    refused: list[dict[str, str]]  # rule, message: every broken limit
    snapshot: dict[str, Any]

    def items(self) -> set[str]:
        """Codes of the items the lines name."""
        return {line["item"] for line in self.lines}


@dataclass(frozen=True, slots=True)
class Position:
    """One place in a stack as planned."""

    stack: int  # 1 = first
    level: int  # 1 = lowest or nearest the wall
    role: str  # unit (a module), head, base, cap
    item: str  # code of the item that belongs there


def work_out(edition: FamilyEdition, answers: Mapping[str, Any]) -> WorkedOut:
    """Ask the engine. Raises ConfigurationError with every fault of the answers."""
    family = families.family_of(edition)
    configuration = configurations.parse(dict(answers), family)
    result = plan.work_out(family, configuration)
    answer: dict[str, Any] = result.as_json()
    if answer["refused"]:
        return WorkedOut([], answer["refused"], {})
    boxes = layout.boxes(family, configuration)
    local = local_rules.at(settings.CODE, family, configuration.job)
    kept = {
        "configuration": dict(answers),
        "edition": {
            "name": edition.name,
            "edition": edition.edition.isoformat(),
            "status": edition.status,
            "sha256": edition.sha256,
        },
        "engine": result.engine,
        "tables": dict(result.tables),
        "cautions": answer["cautions"],
        "tasks": answer["tasks"],
        "unresolved": [*answer["unresolved"], *(_to_judge(rule) for rule in local if rule.judged)],
        "local_rules": [asdict(rule) for rule in local],
        "comes_back": answer["comes_back"],
        "renewed": answer["renewed"],
        "moves": answer["moves"],
        "taken_both": answer["taken_both"],
        "charge": answer["charge"],
        "steps": [
            {"key": step.key, "title": step.title, "tasks": list(step.tasks)}
            for step in result.steps
        ],
        "positions": [
            {"stack": box.stack, "level": box.level, "role": box.kind, "item": box.item}
            for box in boxes
            # A base that is only counted stands at the same level as the first module.
            if box.kind in STANDING and family.items[box.item].tracking == "serial"
        ],
        "revisions": list(family.revisions),
        "mixing": [
            {"revisions": sorted(m.revisions), "verdict": m.verdict, "message": m.message}
            for m in family.mixings
        ],
        "made_within": [asdict(limit) for limit in family.made_within],
    }
    return WorkedOut(answer["lines"], [], kept)


def _to_judge(rule: LocalRule) -> dict[str, Any]:
    """A question that a person answers at the site and signs, kept as the engine's open ones."""
    return {"axis": "", "question": rule.question, "needs": [], "answers": [], "first": []}


def told_there(kit: Kit) -> list[LocalRule]:
    """Return what the code of the place asks, as it was when the kit was worked out."""
    return [LocalRule(**entry) for entry in kit.snapshot.get("local_rules", ())]


def positions(kit: Kit) -> list[Position]:
    """Return the planned places of the stacks, in the drawing's order."""
    return [Position(**entry) for entry in kit.snapshot["positions"]]


def step_titles(kit: Kit) -> dict[str, str]:
    """Return what the family calls each step."""
    return {step["key"]: step["title"] for step in kit.snapshot["steps"]}


def question(entry: object) -> str:
    """Return an open question of the engine in words."""
    if isinstance(entry, Mapping):
        return str(entry.get("question") or entry.get("message") or dict(entry))
    return str(entry)


def barred(kit: Kit, revision: str, others: set[str]) -> str:
    """Return why this revision may not stand with one of these, "" if it may.

    An unknown revision ("") is no reason; revisions not named together in the edition are barred.
    """
    for other in sorted(others - {revision, ""}):
        if not revision or not kit.snapshot["revisions"]:
            return ""
        pair = {revision, other}
        rows = [row for row in kit.snapshot["mixing"] if pair <= set(row["revisions"])]
        if not rows:
            return f"Revisions {revision} and {other} are not named together in the parts list"
        for row in rows:
            if row["verdict"] == "barred":
                return str(row["message"])
    return ""
