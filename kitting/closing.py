"""Closing: a kit is done when nothing of it is left in parcels, bags or loose at the site, and what
is ticked at its stacks is ticked, or somebody has said why not."""

from __future__ import annotations

from django.db.models import Q

from inventory import two_claims
from inventory.intake import Act, Verdict
from inventory.models import Event, Finding, Role
from inventory.moving import CannotMove, Writing
from kitting import access, gates, packing, ticking
from kitting.models import Kit
from kitting.queries import left_of

HAD = "The job that had it is closed."
NAMED = 5  # things named in the sentence; the page shows all


def close_kit(writes: Writing) -> Verdict:
    """Close the kit, or say what is left of it or nobody has answered yet."""
    kit = gates.open_kit(writes)
    left = left_of(kit)
    if left:
        named = ", ".join(str(thing) for thing in left[:NAMED])
        more = f" and {len(left) - NAMED} more" if len(left) > NAMED else ""
        raise CannotMove(f"Left of {kit.code}: {named}{more}. Fit, use or bring back first")
    unanswered = ticking.unanswered(kit)
    if unanswered:
        named = "; ".join(one.words for one in unanswered[:NAMED])
        more = f" and {len(unanswered) - NAMED} more" if len(unanswered) > NAMED else ""
        raise CannotMove(f"Not ticked: {named}{more}. Tick it, or say why it was not done")
    packing.close(kit, writes.event)
    two_claims.over(writes, _claims(kit))
    return Verdict("applied", f"{kit.code} is closed: nothing of it is left.")


def _claims(kit: Kit) -> dict[int, str]:
    """The claims that end with this kit: those it made, and those on what it had."""
    mine = Q(subject=kit.subject) | Q(place__subject=kit.subject)
    mine |= Q(unit__movements__event__subject=kit.subject)
    found = Finding.objects.filter(mine, two_claims.open_ones()).select_related("unit").distinct()
    ended = {}
    for pk, one in two_claims.of(found).items():
        # Which of two places of one job is right is for a person to look at.
        if one.asks == kit.subject and one.has != kit.subject:
            ended[pk] = f"{kit.code} is closed."
        elif one.asks != kit.subject and one.has in ("", kit.subject):
            ended[pk] = HAD
    return ended


def undo(writes: Writing, done: Event) -> None:
    """The kit is open again."""
    kit = access.kit_of_subject(done.subject)
    if kit is not None and kit.closed_by_id == done.pk:
        packing.reopen(kit)


CLOSE_KIT = Act("close_kit", frozenset(Role.values), close_kit, allow=access.allow, undo=undo)
