"""Recalls: entering a letter, freeing what was put right, who was told, the end.

With freezing the only writer of recalls. What a maker's letter says of handling goes before what is
shown here.
"""

from __future__ import annotations

from collections import Counter, defaultdict

from django.db.models import Exists, Max, OuterRef, Q, QuerySet

from inventory.calling import GOT, calls
from inventory.intake import Act, Verdict
from inventory.ledger.line import Line
from inventory.lock import writing
from inventory.models import (
    CallAnswer,
    Event,
    Holding,
    Notice,
    NoticeCall,
    NoticeEnd,
    NoticeFreeze,
    NoticeHit,
    NoticeRule,
    NoticeUnseen,
    Partner,
    Person,
    Return,
    Role,
    Unit,
)
from inventory.models.places import LEFT_US
from inventory.moving import CannotMove, Writing
from inventory.naming import rule_of
from inventory.returns import open_of_units
from inventory.rows import Question
from inventory.scanning import UP
from inventory.unseen import Unseen

MOST = 100  # things that one event sets aside or frees, so that no scan waits long
PREFIX = "RC"  # of a recall's code
KEPT = ("uid", "code", "partner_id", "letter", "words", "by_id", "at")  # columns of a recall


def enter(
    person: Person, *, letter: str, words: str, rule: str, partner: Partner | None, note: str
) -> Notice:
    """Store a letter with its rule, which must be readable; nothing is set aside by that.

    A letter that is here already widens its own recall: the same one twice changes nothing.
    """
    rule_of(rule)
    with writing():
        same = Notice.objects.filter(partner=partner, letter=letter, end=None).first()
        if same is not None:
            change_rule(same, person, rule)
            return same
        last = Notice.objects.aggregate(last=Max("pk"))["last"] or 0
        made = Notice.objects.create(
            code=f"{PREFIX}{last + 1}",
            partner=partner,
            letter=letter,
            words=words,
            note=note,
            by=person,
        )
        NoticeRule.objects.create(notice=made, version=1, text=rule, by=person)
    return made


def change_rule(notice: Notice, person: Person, rule: str) -> NoticeRule:
    """Store a further version of a rule; the frozen one counts until this one is frozen."""
    rule_of(rule)
    with writing():
        latest = latest_rule(notice)
        if latest.text == rule:
            return latest
        return NoticeRule.objects.create(
            notice=notice, version=latest.version + 1, text=rule, by=person
        )


def change_note(notice: Notice, note: str) -> None:
    """Write or erase the note."""
    with writing():
        Notice.objects.filter(pk=notice.pk).update(note=note)


def latest_rule(notice: Notice) -> NoticeRule:
    """Return the newest version of a recall's rule."""
    found = notice.rules.order_by("-version").first()
    assert found is not None, "a recall has a rule from its first moment"
    return found


def frozen_rules() -> list[NoticeRule]:
    """Return the rule that counts of each recall that was frozen and is not over."""
    return list({rule.notice_id: rule for rule in _FROZEN.ask()}.values())


def _frozen() -> QuerySet[NoticeRule]:
    """Rules that count or did, a newer one after an older."""
    frozen = NoticeFreeze.objects.filter(rule=OuterRef("pk"))
    rules = NoticeRule.objects.filter(Exists(frozen), notice__end=None)
    return rules.order_by("version").select_related("notice")


_FROZEN = Question(_frozen)


def held_by(notice: Notice) -> set[tuple[int | None, int | None]]:
    """Return ids of the units and batches that a recall has set aside, freed since or not."""
    return set(notice.hits.values_list("hold__unit", "hold__lot"))


def spot(one: Unseen) -> tuple[int, int, str]:
    """Return what tells a thing that stands unseen from others."""
    return one.place.pk, one.item_id, one.words


def called_about(notice: Notice) -> set[tuple[int, int, str]]:
    """Return `spot` of each thing unseen that somebody was called about."""
    found = NoticeUnseen.objects.filter(call__notice=notice)
    return set(found.values_list("call__place", "item", "words"))


def open_hits(notice: Notice) -> QuerySet[NoticeHit]:
    """Return what a recall keeps set aside."""
    return notice.hits.filter(hold__release=None)


def to_settle() -> QuerySet[NoticeHit]:
    """Return what recalls keep set aside and that has not left us as scrap or back to its maker.

    What left stays set aside: should it turn up again, it is stopped. Nobody acts on it till then.
    """
    here = Holding.objects.filter(lot=OuterRef("hold__lot"), quantity__gt=0)
    inside = Unit.objects.filter(place=OuterRef("hold__place"))
    found = NoticeHit.objects.filter(hold__release=None)
    found = found.exclude(hold__unit__place__kind__in=LEFT_US)
    return found.filter(
        Q(hold__lot=None) | Exists(here.exclude(place__kind__in=LEFT_US)),
        Q(hold__place=None) | Exists(inside),
    )


def to_come_back(notice: Notice, most: int) -> list[tuple[Unit, Return | None]]:
    """Return the first of the units that a recall keeps set aside, each with its open return."""
    found = to_settle().filter(notice=notice).exclude(hold__unit=None).order_by("pk")
    around = ("hold__unit__item", "hold__unit__lot", f"hold__unit__place__{UP}")
    units = [hit.hold.unit for hit in found.select_related(*around)[:most] if hit.hold.unit]
    backs = open_of_units(unit.pk for unit in units)
    return [(unit, backs.get(unit.pk)) for unit in units]


def gone(notice: Notice) -> dict[str, int]:
    """Return where to -> how many left us of those that a recall keeps set aside."""
    kinds = open_hits(notice).filter(hold__unit__place__kind__in=LEFT_US)
    return Counter(
        LEFT_US[kind] for kind in kinds.values_list("hold__unit__place__kind", flat=True)
    )


def free(writes: Writing) -> Verdict:
    """End this recall's hold on the scanned thing after the remedy; reason says what was done."""
    notice, thing = open_notice(writes.line.subject), writes.thing
    on = thing.unit or thing.lot
    if on is None:
        raise CannotMove(thing.question.rstrip(".") or "Scan the thing that was put right")
    if not writes.line.reason:
        raise CannotMove("Say what was done to it")
    held = open_hits(notice).filter(**{"hold__unit" if thing.unit else "hold__lot": on})
    found = list(held.select_related("hold"))
    for hit in found:
        writes.release(hit.hold)
    if not found:
        return Verdict("noted", f"{on} is not set aside by {notice.code}.")
    box = thing.unit.place if thing.unit else None
    for hit in open_hits(notice).filter(hold__place=box).exclude(hold__place=None):
        writes.release(hit.hold)
    other = on.holds.filter(release=None).first()
    if other is not None:
        return Verdict("problem", f"{on} is still set aside: {other.reason}.")
    return Verdict("applied", f"{on} is free again: {writes.line.reason}.")


def told(writes: Writing) -> Verdict:
    """Close the call of this number; kind: told by voice, or confirmed by who was to be called."""
    notice, kind = _notice(writes.line.subject), writes.line.kind
    call = notice.calls.filter(number=writes.line.number or 0).first()
    if call is None:
        raise CannotMove("Say which call this is about")
    if kind not in (CallAnswer.Kind.TOLD, CallAnswer.Kind.CONFIRMED):
        raise CannotMove("Say how they know")
    if hasattr(call, "answer"):
        return Verdict("noted", "That call was answered before.")
    CallAnswer.objects.create(call=call, event=writes.event, kind=kind)
    return Verdict(
        "applied", f"Call {call.number} of {notice.code}: {CallAnswer.Kind(kind).label}."
    )


def got(writes: Writing) -> Verdict:
    """A phone has shown the recall; the event itself is the record."""
    return Verdict("noted", f"{_notice(writes.line.subject).code} was shown.")


def end(writes: Writing) -> Verdict:
    """Close a recall. kind "withdrawn": the letter does not count, all it set aside is freed."""
    notice = open_notice(writes.line.subject)
    if not writes.line.reason:
        raise CannotMove("Say why it is over")
    held, unanswered = open_hits(notice), notice.calls.filter(answer=None)
    if writes.line.kind != "withdrawn":
        left = to_settle().filter(notice=notice).count()
        if left:
            raise CannotMove(f"{left} are still set aside by {notice.code}. Free them first")
        if unanswered.exists():
            raise CannotMove(f"{unanswered.count()} calls of {notice.code} are open")
    if writes.line.kind == "withdrawn":
        left = held.count() - MOST
        for hit in held.select_related("hold")[:MOST]:
            writes.release(hit.hold)
        if left > 0:
            return Verdict("problem", f"{left} are still set aside. Close it again.")
    for hit in held.exclude(hold__place=None).select_related("hold"):
        writes.release(hit.hold)  # a box that what was in it has left
    CallAnswer.objects.bulk_create(
        CallAnswer(call=call, event=writes.event, kind=CallAnswer.Kind.WITHDRAWN)
        for call in unanswered
    )
    NoticeEnd.objects.create(notice=notice, event=writes.event)
    return Verdict("applied", f"{notice.code} is over: {writes.line.reason}.")


def relink(writes: Writing, done: Event) -> None:
    """A hold that an undo opened again belongs to the recall of the hold it stands for."""
    ended = defaultdict(list)
    for release in done.hold_releases.select_related("hold__hit"):
        hold = release.hold
        if hasattr(hold, "hit"):
            ended[hold.unit_id, hold.lot_id, hold.place_id, hold.reason].append(hold.hit)
    for hold in writes.event.holds.all():
        for hit in ended[hold.unit_id, hold.lot_id, hold.place_id, hold.reason][:1]:
            NoticeHit.objects.create(notice=hit.notice, hold=hold, why=hit.why)


def stays(writes: Writing, done: Event) -> None:
    """What cannot be undone."""
    raise CannotMove("This stays on record. Free single things, or close the recall, with a reason")


def _notice(subject: str) -> Notice:
    prefix, _, code = subject.partition(":")
    found = Notice.objects.filter(code=code).first() if prefix == "notice" else None
    if found is None:
        raise CannotMove("Say which recall this is about")
    return found


def open_notice(subject: str) -> Notice:
    """Return the recall that an event is about. Raises CannotMove if it is over."""
    notice = _notice(subject)
    if NoticeEnd.objects.filter(notice=notice).exists():
        raise CannotMove(f"{notice.code} is over")
    return notice


def _reached(person: Person, line: Line) -> str:
    """A technician speaks only for a call that reaches them."""
    if person.has(Role.MANAGER):
        return ""
    prefix, _, code = line.subject.partition(":")
    found = NoticeCall.objects.filter(notice__code=code) if prefix == "notice" else None
    if line.step != GOT and found is not None:
        found = found.filter(number=line.number or 0)
    reached = found is not None and any(
        contact.person == person.pk for call in calls(found) for contact in call.contacts
    )
    if not reached:
        return "No such call."
    return "You may not do this." if line.kind == CallAnswer.Kind.TOLD else ""


LEAD = frozenset({Role.MANAGER})
CALLED = frozenset({Role.MANAGER, Role.TECHNICIAN})
ACTS = (
    Act("notice_free", LEAD, free, undo=relink),
    Act("notice_told", CALLED, told, allow=_reached, undo=stays),
    Act(GOT, CALLED, got, allow=_reached),
    Act("notice_end", LEAD, end, undo=stays),
)
