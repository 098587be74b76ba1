"""From what a job starts: what stands at its site by the record, as a configuration has it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from inventory.models import Event
from kitting import families
from kitting.models import AsBuilt, FamilyEdition, JobKind, Kit, Site, Survey
from kitting.plan import revisions
from kitting.plan.configuration import OWN_KEYS, asked
from kitting.plan.family import Family
from kitting.queries import stands_at

FROM_RECORD = (JobKind.EXPANSION, JobKind.SWAP, JobKind.REMOVAL)


@dataclass(frozen=True, slots=True)
class Standing:
    """What stands at a site, as a job there starts from it."""

    edition: FamilyEdition
    stacks: list[dict[str, Any]]  # as a configuration has them: modules, and revisions if known
    answers: dict[str, Any]  # about the site, as they were given last


def standing(site: Site) -> Standing | None:
    """Return what stands at a site; None where the record has nothing there."""
    rows = list(stands_at(site.place))
    described = description(site)
    if not rows or described is None:
        return None
    edition, configuration = described
    family = families.family_of(families.current(edition.name) or edition)
    answers = {name: value for name, value in configuration.items() if name not in OWN_KEYS}
    return Standing(edition, list(_stacks(rows, family)), answers)


def description(site: Site) -> tuple[FamilyEdition, Mapping[str, Any]] | None:
    """Return the latest description of what stands at a site, with the edition it is made by.

    A survey, or the kit that put up something that stands; None where there is neither.
    """
    survey = Survey.objects.filter(site=site).select_related("edition").order_by("-pk").first()
    subjects = stands_at(site.place).values_list("since__subject", flat=True)
    codes = {subject.removeprefix("kit:") for subject in subjects}
    kits = Kit.objects.filter(code__in=codes).select_related("edition")
    kit = kits.order_by("-released_at", "-pk").first()
    if kit is not None and (survey is None or kit.worked_out_at > survey.at):
        return kit.edition, kit.snapshot["configuration"]
    return (survey.edition, survey.configuration) if survey is not None else None


def _stacks(rows: list[AsBuilt], family: Family) -> Iterator[dict[str, Any]]:
    modules: dict[int, list[AsBuilt]] = {}
    for row in rows:
        if row.role == "unit":
            modules.setdefault(row.stack, []).append(row)
    for _, held in sorted(modules.items()):
        known = [row.revision if row.revision in family.revisions else "" for row in held]
        told = any(known) or family.expands_from
        yield {"modules": len(held), **({"revisions": known} if told else {})}


def filled(site: Site, configuration: Mapping[str, Any]) -> dict[str, Any]:
    """Return a configuration with what stands there taken from the record.

    A site of which the record has nothing keeps what was given.
    """
    found = dict(configuration)
    if configuration.get("job") not in FROM_RECORD:
        return found
    stands = standing(site)
    if stands is None or stands.edition.name != configuration.get("family"):
        return found
    if configuration["job"] == JobKind.EXPANSION:
        return found | {"before": before(stands)}
    return found | {"stacks": stands.stacks}


def before(stands: Standing) -> dict[str, Any]:
    """Return what stands as an expansion has it: the stacks, and the answers that hold for them."""
    family = families.family_of(families.current(stands.edition.name) or stands.edition)
    shape = tuple(stack["modules"] for stack in stands.stacks)
    answers = {
        name: value
        for name, value in stands.answers.items()
        if name in family.axes and family.axes[name].accepts(value)
    }
    return {"stacks": stands.stacks, **asked(answers, shape, family)}


def answers_for(stands: Standing) -> dict[str, Any]:
    """Return the answers that hold for what stands, as the family asks them now."""
    return {name: value for name, value in before(stands).items() if name != "stacks"}


def bars(site: Site, family: Family) -> list[str]:
    """Say of each unit that stands at a site and accepts no expansion which it is and where."""
    return [
        f"{row.what} at stack {row.stack}, place {row.level} is revision {row.revision}: "
        f"expected {family.expands_from} or later before the stack may grow"
        for row in stands_at(site.place)
        if row.role == "unit" and row.revision and not revisions.accepts(family, row.revision)
    ]


def swap_places(site: Site) -> list[AsBuilt]:
    """Return what can be swapped at a site: modules and heads, each with its place."""
    return [row for row in stands_at(site.place) if row.role in ("unit", "head")]


def last_event(site: Site) -> Event | None:
    """Return the event that last put something up at a site."""
    row = stands_at(site.place).order_by("-since__number").first()
    return row.since if row is not None else None


def prefill(site: Site, kind: str) -> dict[str, str]:
    """Return what the planning page shows at first for a job at this site, as it would be typed."""
    stands = standing(site)
    if stands is None:
        return {"site": site.place.code, "job": kind}
    family = families.family_of(families.current(stands.edition.name) or stands.edition)
    shape = ", ".join(str(stack["modules"]) for stack in stands.stacks)
    given = {
        "site": site.place.code,
        "job": kind,
        "family": family.name,
        "stacks": shape,
        "before": shape,
    }
    for name, value in stands.answers.items():
        axis = family.axes.get(name)
        if axis is not None:
            tenths = axis.kind == "diameter" and isinstance(value, int)
            given[f"about_{name}"] = f"{value / 10:g}" if tenths else str(value)
    return given
