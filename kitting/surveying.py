"""Describing a stack that others fitted: family, stacks, answers; the only writer of surveys."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from inventory.lock import writing
from inventory.models import Person
from kitting import as_built, families, packing
from kitting.models import Site, Survey
from kitting.packing import Reason, Refused
from kitting.queries import stands_at


def revisions_of(survey: Survey) -> tuple[str, ...]:
    """Return the revisions that the family of a survey knows, oldest first."""
    return families.family_of(survey.edition).revisions


def describe(site: Site, configuration: Mapping[str, Any], by: Person) -> Survey:
    """Store what stands at a site. Raises Refused with every reason.

    What stands is judged as a new stack is: a limit it breaks is told, for nobody may add to it.
    """
    edition = families.current(str(configuration.get("family", "")))
    if edition is None:
        raise Refused([Reason("family", "family: expected one that is loaded")])
    asked = {**configuration, "job": "new"}
    result = packing.worked_out(edition, asked)
    with writing():
        survey = Survey.objects.create(
            site=site,
            edition=edition,
            configuration=asked,
            positions=result.snapshot["positions"],
            by=by,
        )
        # The latest description says what each place is: what was entered before follows it.
        before = {
            row.unit_id: f"{row.unit} at place {row.level} of stack {row.stack}"
            for row in stands_at(site.place)
            if row.unit_id
        }
        as_built.refold(site.place)
        planned = {(p["stack"], p["level"]): p["item"] for p in survey.positions}
        fits = {
            row.unit_id
            for row in stands_at(site.place)
            if row.since.step != "find_standing"
            or planned.get((row.stack, row.level)) in ("", row.kind_of.code)
        }
        lost = [
            Reason("stacks", f"{words} has no place in this description. Undo that entry first")
            for unit, words in before.items()
            if unit not in fits
        ]
        if lost:
            raise Refused(lost)
    return survey
