"""A crew asks the depot for a part; the bench takes it, says who brings it and when; it comes.

The event "request" is about a kit: text is the thing of the kit (item, unit, bag or box), kind why
it is asked for (missing, damaged, wrong), quantity how many. It tells the problem as well, unless
somebody has told it before. "request_taken", "request_answered",
"request_come" and "request_dropped" name the request by its code as their target; an answer says
who brings it ("with": a username), when ("due") and how ("reason").
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from inventory import claims
from inventory.intake import Act, Verdict
from inventory.models import Event, Finding, Item, Person, Role
from inventory.moving import CannotMove, Writing
from inventory.words import amount
from kitting import access, gates, problems
from kitting.asked_for import Asked, of_kit, what
from kitting.models import Kit, PartRequest, PartRequestStep
from kitting.progress import fold

DESK = frozenset({Role.WAREHOUSE, Role.MANAGER})
ANYBODY = frozenset(Role.values)
Step = PartRequestStep.Kind
Why = PartRequest.Why


def request(writes: Writing) -> Verdict:
    """Tell what is wrong with a thing of the kit and ask for another; asked for again is noted."""
    kit, thing = gates.open_kit(writes), writes.thing
    why = writes.line.kind or Why.MISSING
    if why not in (Why.MISSING, Why.DAMAGED, Why.WRONG):
        raise CannotMove("Say why: missing, damaged or the wrong one")
    item = thing.item or (thing.unit.item if thing.unit else None)
    if item is None and thing.place is None:
        raise CannotMove(thing.question.rstrip(".") or "Say what is asked for")
    if item is not None:
        gates.needed(kit, item.pk)
    else:
        gates.not_anothers(writes, thing.place, kit)
    same = [one for one in of_kit(kit) if not one.over and _same(one.request, item, writes)]
    if same:
        return Verdict("noted", f"{what(same[0].request)}: asked for already. {same[0].words}.")
    about = {"item": item, "unit": thing.unit, "place": None if item else thing.place}
    made = ask(writes.event, kit, why, **about, quantity=_told(writes, kit, why, about))
    return Verdict("applied", f"{what(made)}: the depot is asked for it as {made.code}.")


def _told(writes: Writing, kit: Kit, why: str, about: dict[str, Any]) -> int:
    """Tell the problem where nobody has; return how many are asked for, in base units."""
    known = Finding.objects.filter(subject=kit.subject, kind=why, answer=None)
    same = {name: one for name, one in about.items() if name != "item" or about["unit"] is None}
    if about["place"] is not None:
        same = {"place": about["place"]}
    if not known.filter(**same).exists():
        if why == Why.WRONG:
            said = f"Another one came instead of {writes.thing.name}."
            writes.finding(Finding.Kind.WRONG, said, unit=about["unit"], item=about["item"])
        else:
            (problems.missing if why == Why.MISSING else problems.damaged)(writes)
    found = known.filter(**same).order_by("-pk").first()
    return writes.line.quantity or (found.quantity if found else 0) or writes.thing.pack


def _same(other: PartRequest, item: Item | None, writes: Writing) -> bool:
    if item is not None and writes.thing.unit is None:
        return other.item_id == item.pk and other.unit_id is None
    return (other.unit, other.place) == (writes.thing.unit, None if item else writes.thing.place)


def ask(event: Event, kit: Kit, why: str, **about: object) -> PartRequest:
    """Enter a request under the next code. about: item, unit or place, and the quantity."""
    number = PartRequest.objects.count() + 1
    return PartRequest.objects.create(event=event, kit=kit, why=why, code=f"Q{number}", **about)


def taken(writes: Writing) -> Verdict:
    """Somebody at the bench sees to it; it rings no more."""
    asked = _named(writes)
    if asked.taken_by is not None:
        return Verdict("noted", f"{asked.request}: {asked.taken_by.name} has taken it.")
    note_step(writes, asked, Step.TAKEN)
    return Verdict("applied", f"{asked.request} is yours: {what(asked.request)}.")


def answered(writes: Writing) -> Verdict:
    """Say who brings it and when, or how else it follows; the latest answer counts."""
    asked = _named(writes)
    brings, how = _brings(writes), writes.line.reason.strip()
    if brings is None and not how:
        raise CannotMove("Say who brings it, or how it follows")
    note_step(writes, asked, Step.ANSWERED, brings=brings, due=writes.line.due, words=how)
    return Verdict("applied", f"{asked.request}: {what(asked.request)} follows. The crew sees it.")


def come(writes: Writing) -> Verdict:
    """It has come: its line goes from the pages of the job."""
    asked = _named(writes)
    note_step(writes, asked, Step.COME)
    return Verdict("applied", f"{what(asked.request)} has come.")


def dropped(writes: Writing) -> Verdict:
    """Nobody needs it any more; a reason says why."""
    asked, why = _named(writes), writes.line.reason.strip()
    if not why:
        raise CannotMove("Say why it is not needed any more")
    note_step(writes, asked, Step.DROPPED, words=why)
    return Verdict("applied", f"{asked.request}: {what(asked.request)} is not needed any more.")


def leave_short(writes: Writing) -> Verdict:
    """The van leaves without what is not loaded; a named person says how the rest follows."""
    kit, how = gates.open_kit(writes), writes.line.reason.strip()
    gates.not_cancelled(kit)
    brings = _brings(writes)
    if not how:
        raise CannotMove("Say how the rest follows")
    known = {one.request.item_id for one in of_kit(kit) if not one.over}
    lacking = [(item, some) for item, some in not_aboard(kit) if item.pk not in known]
    if not lacking:
        return Verdict("noted", f"{kit.code}: nothing is left behind that is not told already.")
    for item, quantity in lacking:
        made = ask(writes.event, kit, Why.SHORT, item=item, quantity=quantity)
        note_step(writes, made, Step.ANSWERED, brings=brings, due=writes.line.due, words=how)
    named = ", ".join(amount(quantity, item) for item, quantity in lacking[:4])
    more = f" and {len(lacking) - 4} more" if len(lacking) > 4 else ""
    return Verdict("applied", f"{kit.code} leaves without {named}{more}. It follows: {how}.")


def not_aboard(kit: Kit) -> list[tuple[Item, int]]:
    """Return what the job takes of each item and is neither on the van nor gone on from it."""
    return [(total.item, total.behind) for total in fold(kit).totals.values() if total.behind]


def _named(writes: Writing) -> Asked:
    kit = access.kit_of_subject(writes.line.subject)
    asked: Iterable[Asked] = of_kit(kit) if kit is not None else ()
    for one in asked:
        if one.request.code == writes.line.target:
            if one.over:
                raise CannotMove(f"{one.request}: {one.words}")
            return one
    raise CannotMove("Say which request: its code, as Q1")


def _brings(writes: Writing) -> Person | None:
    name = writes.line.companion.strip()
    if not name:
        return None
    found = Person.objects.filter(username=name, is_active=True).first()
    if found is None:
        raise CannotMove(f"Nobody here is called {name[:40]}")
    return found


def note_step(writes: Writing, asked: Asked | PartRequest, kind: str, **more: object) -> None:
    """Enter a step of a request; the event of the scan or press says who and when."""
    about = asked.request if isinstance(asked, Asked) else asked
    PartRequestStep.objects.create(request=about, event=writes.event, kind=kind, **more)


REQUEST = Act("request", ANYBODY, request, allow=access.allow, undo=claims.undone)
TAKEN = Act("request_taken", DESK, taken, allow=access.allow)
ANSWERED = Act("request_answered", DESK, answered, allow=access.allow)
COME = Act("request_come", ANYBODY, come, allow=access.allow)
DROPPED = Act("request_dropped", ANYBODY, dropped, allow=access.allow)
LEAVE_SHORT = Act("leave_short", DESK, leave_short, allow=access.allow)
