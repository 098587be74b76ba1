"""What comes back is no stock before somebody has looked at it; each kind has its route."""

from __future__ import annotations

import re
from typing import Any

import pytest
from django.test import Client

from inventory import audit, carriage, claims, returns
from inventory.models import Claim, Finding, Hold, Partner, Place, Return, Unit
from inventory.overviews import things_aside
from inventory.queries import held
from inventory.return_lists import on_way, route, seen
from inventory.return_routes import ROUTES
from inventory.tracing import chain
from kitting.shelves import carried_by, on_shelves, proposed_place
from tests.firm import NOW, Firm, Phone, element_string
from tests.inventory.deliveries import PHOTO, begin
from tests.stories.counting_hands import Hands

BRACKETS = "09521234000020"  # a bag says four
TODAY = NOW.date()


def go(phone: Phone, step: str, text: str = "", expected: str = "applied", **more: Any) -> str:
    """Send one event, check its verdict, return its sentence."""
    done = phone.scan(step, text, **more)
    assert done.verdict == expected, (step, text, done.sentence)
    return done.sentence


def whole() -> bool:
    return [done.problems for done in audit.run() if done.problems] == []


def way(code: str) -> dict[str, bool]:
    """Key of each step of a return's route -> whether it is done."""
    found = returns.standing().filter(code=code).select_related("unit__place", "lot__item")
    return {one.stop.key: one.done for one in route(seen(list(found), TODAY)[0])}


def receive(shop: Firm, serial: str) -> None:
    go(shop.wanda, "receive", f"]C1010952123400001321{serial}", target="BIN1")


def test_a_unit_that_came_back_is_stock_only_when_it_was_looked_at(shop: Firm) -> None:
    """Not proposed, not free by a release; checked with its packaging and what the firm reads."""
    receive(shop, "A1")
    returns.set_rule(shop.module, reading="charge in %")
    assert [spot.unit for spot in on_shelves([shop.module.pk])[shop.module.pk]] == [shop.unit("A1")]
    go(shop.wanda, "come_back", "A1", "stopped")
    first = go(shop.wanda, "come_back", "A1", kind="left")
    assert first == "Module A1: left over, R1, at Came back, Dock."
    go(shop.mona, "come_back", "A1", "noted", kind="left")  # from a second device
    assert on_shelves([shop.module.pk]) == {}
    go(shop.wanda, "put", "A1", target="BIN2")  # standing at a shelf does not make it stock
    assert on_shelves([shop.module.pk]) == {}
    assert proposed_place(shop.module) is None
    assert "R1" in go(shop.mona, "release", "A1", "stopped")

    said = {"subject": "return:R1"}
    go(shop.wanda, "check_back", "", "stopped", kind="as_new", **said)  # its packing is asked
    go(shop.wanda, "check_back", "", "stopped", kind="fine:original", **said)
    reading = go(shop.wanda, "check_back", "", "stopped", kind="as_new:original", **said)
    assert reading == "Read first: charge in %."
    done = shop.wanda.scan("check_back", kind="as_new:original", number=44, target="BIN3", **said)
    assert done.sentence == (
        "Module A1: as new, in its own packing, charge in %: 44. It is stock again."
    )
    assert way("R1") == {"came": True, "checked": True, "shelf": True}
    assert [spot.place.code for spot in on_shelves([shop.module.pk])[shop.module.pk]] == ["BIN3"]
    go(shop.wanda, "undo", reverses=done.id)
    assert on_shelves([shop.module.pk]) == {}
    assert shop.unit("A1").place == shop.bins[1]
    assert whole()


def test_a_quantity_waits_at_its_own_place(shop: Firm) -> None:
    """From the van to the place for returns, then to a shelf; what is opened is never used again"""
    go(shop.wanda, "receive", BRACKETS, target="VAN1", quantity=8)
    go(shop.wanda, "come_back", BRACKETS, "stopped", kind="left")  # from where?
    go(shop.wanda, "come_back", BRACKETS, kind="left", start="VAN1", quantity=3)
    back = Place.objects.get(code="DOCK-BACK")
    lot = Return.objects.get().lot
    assert lot is not None
    assert (held(back, lot), held(shop.van, lot), way("R1")["came"]) == (3, 5, True)
    assert shop.bracket.pk not in on_shelves([shop.bracket.pk])
    assert sum(s.quantity for s in carried_by(shop.van, [shop.bracket.pk])[shop.bracket.pk]) == 5
    stop = go(shop.wanda, "put", BRACKETS, "stopped", start=back.code, target="BIN1", quantity=3)
    assert "look at it first" in stop
    said = {"subject": "return:R1"}
    returns.set_rule(shop.bracket, never_again=True)
    go(shop.wanda, "check_back", "", "stopped", kind="usable", target="BIN1", **said)
    go(shop.wanda, "check_back", "", "stopped", kind="as_new", **said)  # on which shelf?
    go(shop.wanda, "check_back", "", "stopped", kind="as_new", target=back.code, **said)
    done = shop.wanda.scan("check_back", kind="as_new", target="BIN1", **said)
    assert done.sentence == "3 x Bracket: as new, at Bin 1."
    assert held(shop.bins[0], lot) == 3
    go(shop.wanda, "check_back", "", "stopped", kind="as_new", target="BIN1", **said)  # closed
    go(shop.wanda, "undo", reverses=done.id)
    go(shop.wanda, "check_back", kind="not_usable", reason="bent", **said)
    assert (held(back, lot), held(Place.objects.get(kind="scrap"), lot)) == (0, 3)
    surplus = go(
        shop.wanda, "come_back", BRACKETS, "problem", kind="left", start="VAN1", quantity=6
    )
    assert surplus == "6 x Bracket came back; the book lacked 1 at Van 1."
    assert whole()


def test_each_kind_has_its_route_and_another_reason_opens_another_return(shop: Firm) -> None:
    """Left over turns out damaged; a lead judges; a recalled one waits for the maker's word."""
    for number, kind in enumerate(ROUTES, 1):
        receive(shop, f"K{number}")
        go(shop.wanda, "come_back", f"K{number}", kind=kind)
        # No battery here, and nothing was put in its place.
        keys = [stop.key for stop in ROUTES[kind] if stop.key not in ("packing", "carton")]
        assert list(way(f"R{number}")) == keys
    go(shop.wanda, "come_back", "K1", kind="damaged")
    assert returns.steps_of(Return.objects.get(code="R1")).get().words.endswith("reason: R7.")
    good = {"kind": "usable:original"}
    go(shop.wanda, "check_back", "K1", "stopped", **good)
    go(shop.mona, "check_back", "K1", **good)
    recalled = Return.objects.get(kind="recalled")
    said = {"subject": recalled.subject}
    go(shop.mona, "check_back", "", "stopped", **good, **said)
    go(shop.mona, "scrap_return", "", "stopped", reason="waste firm", **said)
    go(shop.wanda, "maker_says", "", "stopped", **said)
    go(shop.wanda, "maker_says", reason="hand it to their carrier", **said)
    go(shop.wanda, "send_back", kind="carrier", **said)
    assert way(recalled.code)["gone"]
    wrong = Return.objects.get(kind="wrong")
    go(shop.wanda, "send_back", "", "stopped", subject=wrong.subject)  # who takes it?
    go(shop.wanda, "send_back", kind="supplier", subject=wrong.subject)
    assert on_way(TODAY, 50)[1] == 3  # dead, damaged, taken down
    assert shop.tariq.scan("come_back", "K2", kind="left").verdict == "refused"
    foreign = shop.tariq.scan("check_back", subject="return:R3", kind="usable:none")
    assert foreign.sentence == "No such return."
    assert whole()


def test_nobody_s_word_is_no_packing_class(shop: Firm, monkeypatch: pytest.MonkeyPatch) -> None:
    """A damaged battery goes nowhere until a lead has signed; the latest decision counts."""
    monkeypatch.setattr(carriage, "_ASKED", [lambda item: item == shop.module])
    receive(shop, "A1")
    go(shop.wanda, "come_back", "A1", kind="damaged")
    assert list(way("R1"))[:2] == ["apart", "packing"]
    assert "P911" not in go(shop.wanda, "send_back", "A1", "stopped", kind="carrier")
    go(shop.mona, "packing_class", "A1", "stopped", kind="yes", reason="x")
    first = shop.mona.scan("packing_class", "A1", kind="p911", reason="hot at one corner")
    assert "competent authority" in first.sentence
    later = shop.mona.scan("packing_class", "A1", kind="p908", reason="cold for two days")
    decided = carriage.decision(Return.objects.get())
    assert decided is not None
    assert (decided.value, decided.event.person) == ("p908", shop.mona.person)
    for event in (later, first):
        go(shop.mona, "undo", reverses=event.id)
    assert "nobody has decided" in go(shop.wanda, "send_back", "A1", "stopped", kind="carrier")
    go(shop.mona, "packing_class", BRACKETS, "stopped", kind="p908", reason="x")
    assert whole()


def test_a_claim_without_a_delivery_is_put_to_somebody_later(shop: Firm) -> None:
    """Its clocks are those of whom it is put to; put to another, those of the other."""
    begin(shop)
    receive(shop, "A1")
    go(shop.wanda, "come_back", "A1", kind="damaged")
    opened = go(shop.wanda, "claim_open", kind="hidden", subject="return:R1", photo=PHOTO)
    assert opened.startswith("C1: Module A1: damage found later.")
    claim = Claim.objects.get(code="C1")
    said = {"subject": claim.subject}
    assert (claim.partner, list(claim.dues.all())) == (None, [])
    assert go(shop.wanda, "claim_told", kind="phone", **said) == "They were told by phone."
    go(shop.wanda, "claim_partner", "", "stopped", target="nobody", **said)
    go(shop.wanda, "claim_partner", target="swift", **said)
    go(shop.wanda, "claim_partner", "", "noted", target="swift", **said)
    claim = Claim.objects.get()
    assert claims.partner_of(claim) == Partner.objects.get(code="swift")
    assert [due.source for due in claims.dues_of(claim)] == ["CMR article 30"]
    go(shop.wanda, "claim_partner", target="north", **said)
    assert claims.dues_of(Claim.objects.get()) == []
    go(shop.wanda, "claim_end", "A1", "stopped", kind="replaced", **said)
    new = element_string("A9")
    go(shop.wanda, "claim_end", new, "stopped", kind="dropped", reason="x", **said)
    assert Unit.objects.count() == 1
    closed = go(shop.wanda, "claim_end", new, kind="replaced", reason="by their van", **said)
    assert closed == "Claim C1. Closed: replaced by Module A9: by their van."
    assert str(claims.replacement(claim)) == "Module A9"
    desk = Hands(shop.mona.person).begin(f"/claims/{claim.code}/")
    assert "Sent instead Module A9" in " ".join(desk.page.words.split())
    receive(shop, "A9")
    assert [link.step for link in chain("A9").links] == ["claim_end", "receive"]
    go(shop.wanda, "claim_partner", "", "stopped", target="swift", **said)


def test_what_we_dropped_ourselves_need_not_be_kept(shop: Firm) -> None:
    """Nobody asks for it any more."""
    receive(shop, "A1")
    go(shop.wanda, "come_back", "A1", kind="damaged")
    go(shop.wanda, "claim_open", kind="hidden", subject="return:R1", photo=PHOTO)
    said = {"subject": Claim.objects.get().subject}
    go(shop.wanda, "claim_end", kind="dropped", reason="our own fork lift", **said)
    go(shop.mona, "scrap_return", reason="waste firm", subject="return:R1")
    assert Hold.objects.filter(release=None).count() == 0
    assert Finding.objects.count() == 0
    assert whole()


def test_what_may_be_dangerous_stands_before_what_is_left_over(shop: Firm) -> None:
    """The page shows so many: a battery that came last, damaged, is the first of them."""
    for serial in ("A1", "A2", "A3"):
        receive(shop, serial)
    for serial, kind in (("A1", "left"), ("A2", "left"), ("A3", "damaged")):
        go(shop.wanda, "come_back", serial, kind=kind)
    found, count = on_way(TODAY, 2)

    assert [str(one.found.unit) for one in found] == ["Module A3", "Module A1"]
    assert count == 3


def test_a_thing_set_aside_twice_is_listed_once(shop: Firm) -> None:
    """With both reasons: a recall holds it, and so does what it came back for."""
    receive(shop, "A1")
    go(shop.wanda, "set_aside", "A1", reason="corner cracked")
    go(shop.wanda, "come_back", "A1", kind="damaged", reason="it smells")
    listed = things_aside()

    assert Hold.objects.filter(release=None).count() == 2
    assert [str(one.hold.unit) for one in listed] == ["Module A1"]
    assert listed[0].reasons[0] == "corner cracked"
    assert len(listed[0].reasons) == 2
    client = Client()
    client.force_login(shop.mona.person)
    for page in ("/problems/", "/returns/"):
        aside = client.get(page).content.decode().split("<h2>Set aside</h2>")[1]
        assert aside.count("<strong>Module A1</strong>") == 1


def test_what_was_not_done_before_it_left_is_not_told_as_done(shop: Firm) -> None:
    """It was never stood apart: that is over, not done, and the page offers nothing more."""
    receive(shop, "A1")
    go(shop.wanda, "come_back", "A1", kind="recalled")
    go(shop.mona, "maker_says", reason="send it", subject="return:R1")
    go(shop.mona, "send_back", kind="carrier", subject="return:R1")

    found = returns.standing().filter(code="R1").select_related("unit__place", "lot__item")
    told = {one.stop.key: (one.done, one.over) for one in route(seen(list(found), TODAY)[0])}
    assert told == {"apart": (False, True), "told": (True, False), "gone": (True, False)}
    client = Client()
    client.force_login(shop.mona.person)
    page = client.get("/returns/R1/").content.decode()
    assert page.count("not any more") == 1
    assert 'name="step"' not in page


def test_an_act_that_ends_it_shows_the_page_anew(shop: Firm) -> None:
    """Nobody fills in a form of a return or claim that is closed."""
    receive(shop, "A1")
    go(shop.wanda, "come_back", "A1", kind="damaged")
    go(shop.wanda, "claim_open", kind="hidden", subject="return:R1", photo=PHOTO)
    client = Client()
    client.force_login(shop.mona.person)
    for page, steps in (
        ("/returns/R1/", ["check_back", "send_back", "scrap_return"]),
        ("/claims/C1/", ["claim_end"]),
    ):
        forms = client.get(page).content.decode().split("<event-form")[1:]
        anew = [form for form in forms if form.startswith(f' next="{page}"')]
        assert [re.findall('name="step" value="([a-z_]+)"', one)[0] for one in anew] == steps
