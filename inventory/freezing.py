"""Setting aside what a recall's rule names: at once what is here, later what comes.

A freeze goes on where the one before it ended, a hundred things at a time, each time whole: what
was set aside stays so whatever happens in between.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import islice

from django.db.models import Q

from inventory.codes.recall_judging import CANNOT_TELL, HIT, Judgement
from inventory.intake import Act, Verdict
from inventory.models import (
    Hold,
    Holding,
    Lot,
    Notice,
    NoticeCall,
    NoticeFreeze,
    NoticeHit,
    NoticeUnseen,
    Place,
    PlaceKind,
    Unit,
)
from inventory.moving import CannotMove, Writing
from inventory.naming import Judged, hits_of, judged_by, names_of, rule_of, unseen_hits
from inventory.narrowing import parts_of
from inventory.newcomers import New
from inventory.notices import (
    LEAD,
    MOST,
    called_about,
    frozen_rules,
    latest_rule,
    open_hits,
    open_notice,
    spot,
    stays,
)
from inventory.rows import Among, Question, Slot
from inventory.scanning import UP
from inventory.unseen import Unseen

Away = dict[tuple[str, int], tuple[Place, list[Hold]]]  # by kit, or by place if none

_HAD = Question(
    lambda: NoticeHit.objects.filter(
        Q(hold__unit__in=Among(Hold, "unit")) | Q(hold__lot__in=Among(Hold, "lot")),
        notice=Slot(NoticeHit, "notice"),
    ).values_list("hold__unit", "hold__lot", "hold__release")
)
PARTS = 4  # of a rule, that one event asks the database about
SAID = 5  # sentences; a file may bring hundreds of things at once
MORE = "more to go"  # words by which a page knows that it has to go on


@dataclass(frozen=True, slots=True)
class _New:
    """What is to be set aside, and why."""

    thing: Unit | Lot | Place
    why: str


def freeze(writes: Writing) -> Verdict:
    """Set aside what the rule names and is not yet, MOST things at once; the next event goes on.

    kind: the version that the person looked at. The rule counts from the first event on, so what
    comes between two of them is judged as it comes.
    """
    notice = open_notice(writes.line.subject)
    rule = latest_rule(notice)
    if writes.line.kind != str(rule.version):
        raise CannotMove(f"The rule of {notice.code} was changed since. Look at it again")
    last, parts = rule.freezes.order_by("pk").last(), parts_of(rule_of(rule.text))
    done = last.done if last is not None and last.done < len(parts) else 0
    asked = parts[done : done + PARTS]
    found = list(islice(hits_of(rule.text, asked, notice.pk), MOST + 1))
    reached = done + len(asked) if len(found) <= MOST else done
    new = _things(found[:MOST])
    held, called = _hold(writes, notice, new)
    unseen = _not_called_about(notice, rule.text) if reached == len(parts) else []
    if len(unseen) > MOST:
        reached -= 1  # the next event comes here once more
    if last is None or last.done != reached:
        NoticeFreeze.objects.create(event=writes.event, rule=rule, done=reached)
    called += _call_about(writes, notice, unseen[:MOST])
    boxes = _hold(writes, notice, _whole_boxes(notice, new))[0]
    aside = f"{held}{_and_boxes(boxes)} set aside"
    away = f" {called} to call: see the call list." if called else ""
    if reached < len(parts):
        return Verdict("problem", f"{aside}, {MORE}: freeze again.{away}")
    if not new and not called:
        return Verdict("noted", f"{notice.code} is frozen. Nothing new is named by its rule.")
    return Verdict("applied", f"{aside} for {notice.code}.{away}")


def _and_boxes(count: int) -> str:
    return f" and {count} whole box{'es' if count > 1 else ''}" if count else ""


def _things(found: Sequence[Judged]) -> list[_New]:
    around = Unit.objects.select_related("item", "lot", f"place__{UP}")
    units = around.in_bulk([one.unit for one in found if one.unit])
    lots = Lot.objects.select_related("item").in_bulk([one.lot for one in found if one.lot])
    return [
        _New(units[one.unit] if one.unit else lots[one.lot or 0], one.judgement.why)
        for one in found
    ]


def _whole_boxes(notice: Notice, new: Iterable[_New]) -> list[_New]:
    """Boxes in which everything is set aside by this recall now: nobody opens them for a scan."""
    boxes = {
        one.thing.place
        for one in new
        if isinstance(one.thing, Unit)
        and one.thing.place is not None
        and one.thing.place.kind == PlaceKind.CARTON
    }
    ours = open_hits(notice).values("hold__unit")
    mixed = set(
        Unit.objects.filter(place__in=boxes).exclude(pk__in=ours).values_list("place", flat=True)
    )
    held = set(
        open_hits(notice).filter(hold__place__in=boxes).values_list("hold__place", flat=True)
    )
    return [_New(box, "all in it is named") for box in boxes if box.pk not in mixed | held]


def _hold(writes: Writing, notice: Notice, new: Sequence[_New]) -> tuple[int, int]:
    """Open the holds and the calls that they need; return how many of each."""
    reason = f"Recall {notice.code}: {notice.words}"[:200]
    holds = [writes.set_aside(one.thing, reason) for one in new]
    NoticeHit.objects.bulk_create(
        NoticeHit(notice=notice, hold=hold, why=one.why[:200])
        for hold, one in zip(holds, new, strict=True)
    )
    away: Away = {}
    for hold, one in zip(holds, new, strict=True):
        for place in _where(one.thing):
            to = _away(place)
            if to is not None:
                key = (to[1], 0 if to[1] else to[0].pk)
                away.setdefault(key, (to[0], []))[1].append(hold)
    if away:
        _call(writes, notice, away)
    return len(holds), len(away)


def _where(thing: Unit | Lot | Place) -> list[Place]:
    if isinstance(thing, Unit):
        return [thing.place] if thing.place is not None else []
    if isinstance(thing, Lot):
        rows = Holding.objects.filter(lot=thing, outside=False, quantity__gt=0)
        return [row.place for row in rows.select_related(f"place__{UP}")]
    return []  # what is in a box is called about by itself


def _away(place: Place) -> tuple[Place, str] | None:
    """Return where somebody has to be called about what stands here, and for which kit."""
    around = place.way_up()
    packed = next((one for one in around if one.subject), None)
    outer = place.within(PlaceKind.SITE) or place.within(PlaceKind.VAN)
    if packed is not None:
        return outer or packed, packed.subject
    return (outer, "") if outer is not None else None


def _not_called_about(notice: Notice, text: str) -> list[tuple[Unseen, str]]:
    """Return what the rule names unseen and nobody was called about, each with its reason."""
    known = called_about(notice)
    found = ((one.unseen, one.judgement.why) for one in unseen_hits(text))
    return [(one, why) for one, why in found if one and spot(one) not in known]


def _call_about(writes: Writing, notice: Notice, named: Sequence[tuple[Unseen, str]]) -> int:
    """Call whoever is where something named stands unseen; return how many are called."""
    away: Away = {("", one.place.pk): (one.place, []) for one, _ in named}
    calls = _call(writes, notice, away) if away else {}
    NoticeUnseen.objects.bulk_create(
        NoticeUnseen(
            call=calls["", one.place.pk],
            event=writes.event,
            item_id=one.item_id,
            words=one.words,
            why=why[:200],
        )
        for one, why in named
    )
    return len(away)


def _call(writes: Writing, notice: Notice, away: Away) -> dict[tuple[str, int], NoticeCall]:
    """Add to the open calls to these people, or open some; return those by the keys of `away`."""
    known = {
        (call.subject, 0 if call.subject else call.place_id): call
        for call in NoticeCall.objects.filter(notice=notice, answer=None)
    }
    last = NoticeCall.objects.filter(notice=notice).count()
    fresh = [key for key in away if key not in known]
    made = NoticeCall.objects.bulk_create(
        NoticeCall(
            notice=notice, number=number, event=writes.event, place=away[key][0], subject=key[0]
        )
        for number, key in enumerate(fresh, last + 1)
    )
    known |= dict(zip(fresh, made, strict=True))
    about = NoticeCall.holds.through
    about.objects.bulk_create(
        about(noticecall=known[key], hold=hold)
        for key, (_, holds) in away.items()
        for hold in holds
    )
    return known


def judge_new(writes: Writing, things: Sequence[New]) -> tuple[bool, str]:
    """Judge what has just come or been named by every frozen rule; set aside what is named."""
    rules = frozen_rules()
    if not rules:
        return False, ""
    names = names_of({thing.item_id for thing in things})
    told = judged_by([rule.text for rule in rules], things, names)
    found = [
        one
        for rule, judgements in zip(rules, told, strict=True)
        for one in _looked_at(writes, rule.notice, things, judgements)
    ]
    said = [words for _, words in found if words]
    more = f" And {len(said) - SAID} more." if len(said) > SAID else ""
    return any(stopped for stopped, _ in found), " ".join(said[:SAID]) + more


def _looked_at(
    writes: Writing, notice: Notice, things: Sequence[New], judgements: Sequence[Judgement]
) -> list[tuple[bool, str]]:
    """Return of each newcomer whether a recall sets it aside, and what to say or ""."""
    had, new, unseen = _had(notice, things), list[_New](), list[tuple[Unseen, str]]()
    found = []
    for thing, judged in zip(things, judgements, strict=True):
        words = ""
        aside = had.get(thing, judged.word == HIT)
        if not aside:
            if judged.word == CANNOT_TELL and thing not in had:
                words = f"{notice.code} may name it, nobody can tell: {judged.why}. Look at it."
        elif isinstance(thing, Unseen):
            words = f"{thing} is named, call them. {words_of(notice)}."
            unseen.append((thing, judged.why))
        else:
            words = f"{thing} is set aside. {words_of(notice)}."
            if thing not in had:
                new.append(_New(thing, judged.why))
        found.append((aside, words))
    _hold(writes, notice, new)
    _call_about(writes, notice, unseen)
    return found


def _had(notice: Notice, things: Sequence[New]) -> dict[New, bool]:
    """Return those of these that a recall has met before, and whether it keeps them set aside."""
    units = [thing.pk for thing in things if isinstance(thing, Unit)]
    lots = [thing.pk for thing in things if isinstance(thing, Lot)]
    aside: dict[object, bool] = {}
    for unit, lot, released in _HAD.tuples(notice=notice.pk, unit=units, lot=lots):
        key = (Unit, unit) if unit else (Lot, lot)
        aside[key] = aside.get(key, False) or released is None
    if any(isinstance(thing, Unseen) for thing in things):
        aside |= dict.fromkeys(called_about(notice), False)
    if not aside:
        return {}
    keys = {t: spot(t) if isinstance(t, Unseen) else (type(t), t.pk) for t in things}
    return {thing: aside[key] for thing, key in keys.items() if key in aside}


def named_by(unit: Unit) -> str:
    """Return the words of the first recall that names a unit nobody has received, "" for none."""
    rules = frozen_rules()
    if not rules:
        return ""
    told = judged_by([rule.text for rule in rules], [unit], names_of({unit.item_id}))
    hit = (rule for rule, (one,) in zip(rules, told, strict=True) if one.word == HIT)
    return next((words_of(rule.notice) for rule in hit), "")


def words_of(notice: Notice) -> str:
    return f"Recall {notice.code}: {notice.words}"


def name_it(writes: Writing) -> Verdict:
    """Set aside what no rule could tell and somebody found to be named; reason: how they know."""
    notice, thing = open_notice(writes.line.subject), writes.thing
    on = thing.unit or thing.lot
    if on is None:
        raise CannotMove(thing.question.rstrip(".") or "Scan the thing that is named")
    if not writes.line.reason:
        raise CannotMove("Say how you know")
    if not NoticeFreeze.objects.filter(rule__notice=notice).exists():
        raise CannotMove(f"{notice.code} is not frozen yet. Freeze it first")
    if open_hits(notice).filter(**{"hold__unit" if thing.unit else "hold__lot": on}).exists():
        return Verdict("noted", f"{on} is set aside by {notice.code} already.")
    _, called = _hold(writes, notice, [_New(on, f"found to be named: {writes.line.reason}")])
    away = f" {called} to call: see the call list." if called else ""
    return Verdict("applied", f"{on} is set aside for {notice.code}.{away}")


ACTS = (
    Act("notice_freeze", LEAD, freeze, undo=stays),
    Act("notice_name", LEAD, name_it, undo=stays),
)
