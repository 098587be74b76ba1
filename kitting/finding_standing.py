"""A stack that others fitted: each unit entered once where it stands, by a scan or its serial.

The site is described before (a survey: family, stacks, answers); an event then names a place of it
and what stands there. A place whose serial nobody can read is entered without one: not seen.
"""

from __future__ import annotations

from inventory.intake import Act, Verdict
from inventory.ledger.line import Line, parse
from inventory.ledger.steps import Ruling, ruling
from inventory.models import Event, Finding, Item, Person, Place, PlaceKind, Role, Unit
from inventory.moving import CannotMove, Writing, outside
from inventory.queries import standing
from kitting import access, as_built, entering
from kitting.calling_crews import unseen_at
from kitting.models import Site
from kitting.snapshot import Position

STEP = "find_standing"


def find_standing(writes: Writing) -> Verdict:
    """Enter what stands at {stack, level}; without a code the place is entered as not seen.

    "reason" holds the revision as it is printed on the unit.
    """
    site = access.site_of_subject(writes.line.subject)
    position = writes.line.position
    if site is None:
        raise CannotMove("Say which site this is")
    if position is None:
        raise CannotMove("Say where it stands: stack and place in the stack")
    planned = as_built.surveyed(site, position.stack, position.level)
    if planned is None:
        raise CannotMove(f"The description has no place {position.level} in stack {position.stack}")
    taken = as_built.at(site.place, position.stack, position.level)
    item = Item.objects.filter(code=planned.item).first()
    if not writes.line.text:
        return _not_seen(writes, site, planned, item, taken is not None)
    unit = entering.unit_standing(writes, writes.line.text, item)
    if item is not None and unit.item_id != item.pk:
        raise CannotMove(
            f"Place {position.level} of stack {position.stack} is for {item.code}, "
            f"this is {unit.item.code}"
        )
    row = as_built.of(unit)
    if row is not None and row.site_id == site.place_id:
        revision = writes.line.reason
        if revision and revision != unit.revision:
            writes.read(unit, revision=revision[:20])
            return Verdict("applied", f"{unit}: revision {revision} is read on it.")
        return Verdict("noted", f"{unit} stands at place {row.level} of stack {row.stack} already.")
    if taken is not None and taken.unit is not None:
        raise CannotMove(f"That place holds {taken.unit} by the record. Undo that entry first")
    return _stands(writes, site, planned, unit)


def _not_seen(
    writes: Writing, site: Site, planned: Position, item: Item | None, taken: bool
) -> Verdict:
    if item is None:
        raise CannotMove("Nothing is known of what belongs at that place")
    if taken:
        raise CannotMove("Something is entered at that place already. Undo that entry first")
    row = as_built.unseen(writes.event, site.place, planned, item)
    writes.learned.append(unseen_at(item.pk, row, None))
    where = f"Stack {planned.stack}, place {planned.level}"
    return Verdict("applied", f"{where}: {item.name} stands there, its serial was not seen.")


def _stands(writes: Writing, site: Site, planned: Position, unit: Unit) -> Verdict:
    ruled = ruling(STEP, standing(unit.place, writes.line.subject, site.place))
    if ruled is Ruling.DISPUTE:
        words = f"{unit} was found standing here and is elsewhere by the book."
        writes.finding(Finding.Kind.CLASH, words, unit=unit)
        return Verdict("dispute", f"{unit} is another job's by the book. The office decides.")
    writes.unit(unit, as_built.stack_place(site.place, planned.stack), outside(PlaceKind.ELSEWHERE))
    writes.seen(unit)
    if writes.line.reason:
        writes.read(unit, revision=writes.line.reason[:20])
    earlier = as_built.at(site.place, planned.stack, planned.level)
    if earlier is not None:
        as_built.end(earlier, writes.event)
    as_built.stand(writes.event, site.place, planned, unit, writes.line.number)
    done = f"{unit}: stands at place {planned.level} of stack {planned.stack}."
    if ruled is Ruling.FINDING:
        words = f"The book had {unit} elsewhere."
        writes.finding(Finding.Kind.SURPLUS, words, unit=unit)
        return Verdict("problem", f"{done} {words}")
    return Verdict("applied", done)


def allow(person: Person, line: Line) -> str:
    """Say whether a person may enter what stands at this site: "" or why not."""
    site = access.site_of_subject(line.subject)
    may = site is not None and access.may_see_site(person, site)
    return "" if may else access.NO_SUCH_SITE


def undo(writes: Writing, done: Event) -> None:
    """What stands at the site follows from the events that are left."""
    if parse(done.line).reason and not done.movements.exists():
        raise CannotMove("A revision that was read stays until another is: enter the right one")
    site = access.site_of_subject(done.subject)
    if site is not None:
        as_built.refold(site.place)


def places_of(site: Site) -> list[Place]:
    """Return the places of the stacks at a site."""
    return list(Place.objects.filter(kind=PlaceKind.STACK, parent=site.place))


FIND_STANDING = Act(
    STEP, frozenset({Role.TECHNICIAN, Role.MANAGER}), find_standing, allow=allow, undo=undo
)
