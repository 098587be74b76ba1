"""What had still to come to a job ends by the scan that brings it; nobody has to press anything.

What a van left without has come once the kit has it aboard or at the site. What a crew asked for
has come once so much of it was seen at the site, undamaged, as the job takes.
"""

from __future__ import annotations

from collections.abc import Callable

from django.db.models import Q

from inventory.intake import Verdict
from inventory.models import ContainerMove, Holding, Movement, Place, Unit
from inventory.moving import Writing
from inventory.queries import within
from inventory.words import amount
from kitting import access
from kitting.asked_for import Asked, of_kit
from kitting.models import PartRequest
from kitting.progress import fold
from kitting.requesting import Step, ask, note_step
from kitting.tallies import Total

AT_SITE = frozenset({"unbox", "fit", "commission", "swap"})
MOVED = frozenset({"applied", "problem"})


def noticed(act: Callable[[Writing], Verdict]) -> Callable[[Writing], Verdict]:
    """Let an act that brings things end what was still to come of its kit, and say so."""

    def and_what_was_to_come(writes: Writing) -> Verdict:
        verdict = act(writes)
        came = _end(writes) if verdict.word in MOVED else []
        if not came:
            return verdict
        return Verdict(verdict.word, " ".join([verdict.sentence, *came]))

    return and_what_was_to_come


def _end(writes: Writing) -> list[str]:
    """End what this scan brought; return what to say of each."""
    kit = access.kit_of_subject(writes.line.subject)
    waits = [one for one in of_kit(kit) if not one.over] if kit is not None else []
    if kit is None or not waits:
        return []
    moved = list(ContainerMove.objects.filter(event=writes.event).select_related("place"))
    items, places = _touched(writes, [move.place for move in moved]), {m.place_id for m in moved}
    totals = {total.item.pk: total for total in fold(kit).totals.values()}
    said = []
    for one in waits:
        request = one.request
        if request.item_id is None:
            left = int(request.place_id not in places or writes.line.step not in AT_SITE)
        elif request.item_id in items and request.item_id in totals:
            left = _left(request, totals[request.item_id], writes.line.step)
        else:
            continue
        if left < request.quantity:
            said.append(_come(writes, one, left))
    return said


def _touched(writes: Writing, moved: list[Place]) -> set[int]:
    """The ids of all items that this event moved, by themselves or in something."""
    items = Movement.objects.filter(event=writes.event).values_list("lot__item", "unit__item")
    found = {item for pair in items for item in pair if item is not None}
    if moved:
        inside = within(moved)
        held = Holding.objects.filter(place__in=inside, quantity__gt=0)
        found |= set(held.values_list("lot__item", flat=True))
        found |= set(Unit.objects.filter(Q(place__in=inside)).values_list("item", flat=True))
    return found


def _left(request: PartRequest, total: Total, step: str) -> int:
    """So much of what was asked for has not come, in base units."""
    if request.why == PartRequest.Why.SHORT:
        return min(total.behind, request.quantity)
    return min(total.unseen, request.quantity) if step in AT_SITE else request.quantity


def _come(writes: Writing, one: Asked, left: int) -> str:
    """It has come; of what has not a new line stands with the same answer."""
    request, answer = one.request, one.answer
    note_step(writes, request, Step.COME)
    if not left or request.item is None:
        return f"{one.what} has come."
    rest = ask(writes.event, request.kit, request.why, item=request.item, quantity=left)
    if answer is not None:
        more = {"brings": answer.brings, "due": answer.due, "words": answer.words}
        note_step(writes, rest, Step.ANSWERED, **more)
    return f"{amount(request.quantity - left, request.item)} has come."
