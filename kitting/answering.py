"""Which problems of kits no word of a person answers: what is missing from an open one."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from inventory.models import Finding
from kitting import still_needed

MISSING = "It is answered when it is found, or another one is packed or taken for it"


def otherwise(findings: Sequence[Finding]) -> Mapping[int, str]:
    """Return id of a problem -> what answers it. A line would count what is not there."""
    missing = [one for one in findings if one.kind == Finding.Kind.MISSING and one.item_id]
    codes = {one.subject.removeprefix("kit:") for one in missing}
    kits = still_needed.open_kits().filter(code__in=codes) if codes else []
    subjects = {kit.subject for kit in kits}
    return {one.pk: MISSING for one in missing if one.subject in subjects}
