"""The hand beats the book: what is odd counts and is told; only the gates stop."""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import date, timedelta
from html import unescape

import pytest
from django.test import Client
from django.urls import reverse

from inventory import charging
from inventory.intake import Result
from inventory.models import (
    ContainerMove,
    Event,
    Finding,
    Item,
    ItemCode,
    Lot,
    Movement,
    Place,
    Unit,
)
from kitting import bags, changing, leading, packing, pinning, standing_beside, vans_out, visiting
from kitting.models import Kit
from tests.inventory.recalls import freeze, letter
from tests.kitting.test_bags import filled
from tests.kitting.test_loading import parcel
from tests.kitting.test_substituting import decide
from tests.kitting.yard import DAY, Yard, about, fresh
from tests.laws.refusals import odd_of
from tests.laws.test_refusals import ACTS

Scan = Callable[[Yard, Kit], Result]
ANCHORS = "09521234000044"


def on_no_line(yard: Yard, kit: Kit) -> Result:
    return yard.wanda.scan("pick", "BRA", **about(kit))


def on_no_line_at_the_van(yard: Yard, kit: Kit) -> Result:
    return yard.tariq.scan("load", "BRA", **about(kit))


def on_no_line_at_the_site(yard: Yard, kit: Kit) -> Result:
    return yard.tariq.scan("unbox", "BRA", **about(kit))


def substitute(yard: Yard, kit: Kit) -> Result:
    decide(yard, until=DAY)
    return yard.wanda.scan("pick", "CT-ANCH105", **about(kit))


def cancelled(yard: Yard, kit: Kit) -> Result:
    visiting.cancel_job(kit.job, yard.mona.person)
    return yard.wanda.scan("pick", "CT-BRACKET", **about(kit))


def cancelled_at_the_van(yard: Yard, kit: Kit) -> Result:
    visiting.cancel_job(kit.job, yard.mona.person)
    return yard.wanda.scan("load", parcel(kit).code, **about(kit))


def made_apart(yard: Yard, kit: Kit) -> Result:
    yard.box("S1")
    Unit.objects.filter(serial="S1").update(made_on=DAY)
    with pytest.MonkeyPatch.context() as patch:
        told = "made years before what is packed"
        patch.setattr(standing_beside.Case, "made_apart", lambda *_: told)
        return yard.wanda.scan("pick", "BOX-S1", **about(kit))


def kept_for_another(yard: Yard, kit: Kit) -> Result:
    unit = yard.box("S1", at=yard.firm.bins[0])
    pinning.pin(yard.kit(), unit, yard.mona.person, "the maker asked for it")
    return yard.wanda.scan("pick", "BOX-S1", **about(kit))


def expired(yard: Yard, kit: Kit) -> Result:
    ItemCode.objects.create(item=Item.objects.get(code="CT-ANCH75"), text=ANCHORS, key=ANCHORS)
    label = {"text": f"]C101{ANCHORS}10OLD", "via": "symbol", "quantity": 4}
    yard.wanda.scan("receive", target="BIN1", **label)
    Lot.objects.filter(number="OLD").update(expires_on=DAY - timedelta(days=1))
    return yard.wanda.scan("pick", **label, **about(kit))


def expired_in_a_parcel(yard: Yard, kit: Kit) -> Result:
    yard.shelve("CT-BRACKET", 2)
    yard.wanda.scan("pick", "CT-BRACKET", quantity=2, **about(kit))
    old = DAY - timedelta(days=1)
    Lot.objects.filter(item__code="CT-BRACKET").update(expires_on=old)
    return yard.wanda.scan("load", parcel(kit).code, **about(kit))


def too_many_in_a_parcel(yard: Yard, kit: Kit) -> Result:
    yard.shelve("CT-G20", 1)
    yard.wanda.scan("pick", "CT-G20", quantity=1, **about(kit))
    return yard.wanda.scan("load", parcel(thicker(yard, kit)).code, **about(kit))


def too_many(yard: Yard, kit: Kit) -> Result:
    for serial in ("S1", "S2"):
        yard.box(serial)
        yard.wanda.scan("pick", f"BOX-{serial}", **about(kit))
    smaller = {**kit.snapshot["configuration"], "stacks": [{"modules": 1}]}
    changing.change_kit(kit, smaller, yard.mona.person, "one less", seen=0)
    assert yard.wanda.scan("load", "BOX-S1", **about(kit)).verdict == "applied"
    return yard.wanda.scan("load", "BOX-S2", **about(kit))


def thicker(yard: Yard, kit: Kit) -> Kit:
    """The kit with a thicker cable: another gland."""
    given = {**kit.snapshot["configuration"], "ac_od": 190}
    changing.change_kit(kit, given, yard.mona.person, "a thicker cable", seen=0)
    return fresh(kit)


def another_van(yard: Yard, kit: Kit) -> Result:
    van = Place.objects.create(kind="van", code="VAN2", name="Van 2")
    return yard.wanda.scan("load", parcel(kit).code, target=van.code, **about(kit))


def van_out(yard: Yard, kit: Kit) -> Result:
    vans_out.take_out(yard.firm.van, DAY, None, "gearbox", {}, yard.mona.person)
    return yard.wanda.scan("load", parcel(kit).code, **about(kit))


def bag_of_nobody(yard: Yard, kit: Kit) -> Result:
    kind = bags.enter_kind("BAG-X", "odd bag")
    bags.tell(kind, {Item.objects.get(code="CT-BRACKET"): 1}, date(2026, 11, 1), yard.mona.person)
    yard.shelve("CT-BRACKET", 1)
    return yard.tariq.scan("unbox", filled(yard, kind).code, **about(kit))


NOT_LISTED = "{} is not in {}. Put it back, or tell the office why it goes along."
CANCELLED = "{} is cancelled: nothing of it goes out. Put it back."
ODD: dict[Scan, str] = {
    on_no_line: NOT_LISTED,
    on_no_line_at_the_van: NOT_LISTED,
    on_no_line_at_the_site: NOT_LISTED,
    substitute: "{} is not in {}: it may stand for {}, by {}.",
    cancelled: CANCELLED,
    cancelled_at_the_van: CANCELLED,
    made_apart: "{}: {}. Take another one, if there is one.",
    kept_for_another: "{} is kept for {}. Take another one, if there is one.",
    expired: "{} expires on {}, before the job. Take another batch, if there is one.",
    expired_in_a_parcel: "{}. It is in {}: take it out.",
    too_many_in_a_parcel: "{} was changed: {} too many in {}. Put it back.",
    too_many: "{} was changed: {} too many. Put it back.",
    another_van: "{} leaves with {}. {} has it now.",
    van_out: "{} is out of service: {}.",
    bag_of_nobody: NOT_LISTED,
}


@pytest.mark.parametrize("case", ODD)
def test_what_is_odd_counts_is_told_and_waits_for_somebody(
    yard: Yard, kit: Kit, case: Scan
) -> None:
    """Taken as it was scanned; the answer says what is odd, and so does the manager's list."""
    done = case(yard, fresh(kit))

    event = Event.objects.get(uid=done.id)
    assert done.verdict == "problem", done.sentence
    assert moved(event), done.sentence
    told = Finding.objects.filter(event=event, answer=None).values_list("words", flat=True)
    [words] = [one for one in told if like(ODD[case], one)]
    assert words in done.sentence
    mona = Client()
    mona.force_login(yard.mona.person)
    assert words in unescape(mona.get(reverse("problems")).content.decode())


def test_all_that_is_noted_as_odd_is_tried_above() -> None:
    """A new oddity in the code is a new case here."""
    assert odd_of(ACTS.values()) == set(ODD.values())


def moved(event: Event) -> bool:
    """Whether anything moved by it."""
    kinds = (Movement, ContainerMove)
    return any(kind.objects.filter(event=event).exists() for kind in kinds)


def like(template: str, words: str) -> bool:
    """Whether these words are of that template, {} standing for what varies."""
    return bool(re.fullmatch(re.escape(template).replace(r"\{\}", ".+"), words))


def set_aside(yard: Yard, kit: Kit) -> Result:
    yard.box("S1")
    yard.mona.scan("set_aside", "S1", reason="a dent")
    return yard.wanda.scan("pick", "BOX-S1", **about(kit))


def recalled(yard: Yard, kit: Kit) -> Result:
    yard.box("S1")
    freeze(yard.mona, letter(yard.mona, "model CT-MODULE; prefix S1"))
    return yard.wanda.scan("pick", "BOX-S1", **about(kit))


def barred(yard: Yard, kit: Kit) -> Result:
    yard.box("S1")
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("kitting.snapshot.barred", lambda *_: "A and B may not stand together")
        Unit.objects.filter(serial="S1").update(revision="B")
        return yard.wanda.scan("pick", "BOX-S1", **about(kit))


def overdue(yard: Yard, kit: Kit) -> Result:
    module = Item.objects.get(code="CT-MODULE")
    charging.set_rule(module, up_to_c=25, days=300, recharges=None, years=None, source="manual")
    yard.box("S1")
    yard.wanda.scan("charged", "BOX-S1", kind="2025-01-01")
    return yard.wanda.scan("pick", "BOX-S1", **about(kit))


@pytest.mark.parametrize(
    ("gate", "opens"), [(set_aside, True), (recalled, False), (barred, True), (overdue, True)]
)
def test_a_gate_stops_and_only_a_lead_with_pin_and_reason_opens_it(
    yard: Yard, kit: Kit, gate: Scan, opens: bool
) -> None:
    """Nothing moves; what a recall names no lead opens either."""
    stopped = gate(yard, kit)
    event = Event.objects.get(uid=stopped.id)
    assert stopped.verdict == "stopped", stopped.sentence
    assert not moved(event)

    leading.give(yard.wanda.person, "2580", yard.mona.person)
    said = (event, yard.wanda.person, "2580")
    with pytest.raises(leading.LeadError):
        leading.say(*said[:2], "0000", "measured", yard.wanda.person, event.received_at)
    with pytest.raises(leading.LeadError):
        leading.say(*said, " ", yard.wanda.person, event.received_at)
    leading.say(*said, "measured", yard.wanda.person, event.received_at)
    with pytest.MonkeyPatch.context() as patch:
        if gate is barred:
            patch.setattr("kitting.snapshot.barred", lambda *_: "A and B may not stand together")
        again = yard.wanda.scan("pick", "BOX-S1", **about(kit))
    assert again.verdict == ("problem" if opens else "stopped"), again.sentence


def test_what_is_fitted_elsewhere_stays_there(yard: Yard, kit: Kit) -> None:
    """The fourth gate: two claims, nothing moves, a person decides; no lead is asked."""
    yard.box("S1")
    other = yard.kit(yard.job(site=packing.open_site("Another house", "2 Example Lane")))
    place = {"position": {"stack": 1, "level": 1}}
    fitted = yard.tariq.scan("fit", yard.label("S1"), **place, **about(other))
    claimed = yard.wanda.scan("pick", "S1", **about(kit))

    assert fitted.verdict == "problem", fitted.sentence
    assert claimed.verdict == "dispute"
    assert not moved(Event.objects.get(uid=claimed.id))
    assert leading.stopped(claimed.id) is None
