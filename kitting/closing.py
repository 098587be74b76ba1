"""Closing: a kit is done when nothing of it is left in parcels, bags or loose at the site, and what
is ticked at its stacks is ticked, or somebody has said why not."""

from __future__ import annotations

from inventory.intake import Act, Verdict
from inventory.models import Event, Role
from inventory.moving import CannotMove, Writing
from kitting import access, gates, packing, ticking
from kitting.queries import left_of

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
    return Verdict("applied", f"{kit.code} is closed: nothing of it is left.")


def undo(writes: Writing, done: Event) -> None:
    """The kit is open again."""
    kit = access.kit_of_subject(done.subject)
    if kit is not None and kit.closed_by_id == done.pk:
        packing.reopen(kit)


CLOSE_KIT = Act("close_kit", frozenset(Role.values), close_kit, allow=access.allow, undo=undo)
