"""The charge clock of units on the shelf: rules, labels, recharges, the gate."""

from datetime import UTC, date, datetime, timedelta

from inventory import audit, charging, intake, placing
from inventory.models import Charge, Finding, Unit
from inventory.tracing import chain
from tests.firm import NOW, Firm, element_string

TODAY = NOW.date()
MODULE = element_string("A1")


def clean() -> bool:
    return [done for done in audit.run() if done.problems] == []


def rule(shop: Firm, **more: int | None) -> None:
    values = {"up_to_c": 25, "days": 300, "recharges": None, "years": None} | more
    charging.set_rule(shop.module, source="manual 3, page 7", **values)  # type: ignore[arg-type]


def state(serial: str = "A1", day: date = TODAY) -> charging.State:
    unit = Unit.objects.select_related("item", "place").get(serial=serial)
    return charging.states([unit], day)[0]


def test_label_and_recharge_set_the_clock_and_an_undo_sets_it_back(shop: Firm) -> None:
    """300 days from the label's day, then from today; the due list has the earliest first."""
    rule(shop)
    placing.set_warmth(shop.dock.parent, 20)
    for serial in ("A1", "B2"):
        shop.wanda.scan("receive", element_string(serial), target="DOCK")
    assert state().word(NOW.date()) == "unknown"
    label = shop.wanda.scan("charged", MODULE, kind="2026-03-01")
    shop.wanda.scan("charged", element_string("B2"), kind="2026-01-01")

    assert label.sentence == "Module A1: charged on 1 Mar 2026, again by 26 Dec 2026."
    assert state().due == date(2026, 12, 26)
    assert [one.unit.serial for one in charging.states(charging.in_stock(), NOW.date())] == [
        "B2",
        "A1",
    ]
    again = shop.wanda.scan("charged", MODULE)
    assert (state().due, state().recharges) == (date(2027, 9, 21), 1)
    shop.wanda.scan("undo", reverses=again.id)
    assert (state().due, shop.unit("A1").last_charged) == (date(2026, 12, 26), date(2026, 3, 1))
    Unit.objects.update(last_charged=None)
    audit.rebuild()
    assert shop.unit("A1").last_charged == date(2026, 3, 1)
    assert clean()


def test_warm_and_cool_places_both_count_also_in_a_box(shop: Firm) -> None:
    """Thirty days in the box on a warm dock use a fifth; the bin is cool."""
    rule(shop)
    rule(shop, up_to_c=40, days=150)
    placing.set_warmth(shop.dock, 40)
    placing.set_warmth(shop.bins[0], 20)
    shop.wanda.scan("receive", "BOX-1", target="DOCK", **{"with": MODULE})
    shop.wanda.scan("charged", "BOX-1", kind=str(NOW.date()))
    later = NOW + timedelta(days=30)
    put = shop.wanda.line("put", "BOX-1", target="BIN1")
    intake.take(shop.wanda.person, [put], later)

    assert "charged" in [link.step for link in chain("A1").links]
    assert state(day=later.date()).due == NOW.date() + timedelta(days=30 + 240)


def test_what_is_overdue_is_stopped_until_a_manager_lets_it_through(shop: Firm) -> None:
    """With a reason, for this one and until its next charge; the warehouse may not."""
    rule(shop)
    shop.wanda.scan("receive", MODULE, target="DOCK")
    shop.wanda.scan("charged", MODULE, kind="2026-01-01")
    unit, day = shop.unit("A1"), NOW.date()
    words = charging.stopped_by(unit, day)
    assert words == ("Module A1 has had to be charged since 28 Oct 2026. Take another one")
    assert shop.wanda.scan("let_through", MODULE, reason="checked").kind == "not_allowed"
    assert shop.mona.scan("let_through", MODULE).sentence == "Say why it may go out."
    shop.mona.scan("let_through", MODULE, reason="voltage measured, 51.9 V")

    assert charging.stopped_by(unit, day) == ""
    assert state().let
    shop.wanda.scan("charged", MODULE, kind="2026-01-02")
    assert charging.stopped_by(unit, day) != ""
    assert clean()


def test_who_let_it_through_let_it_pass_the_limits_of_that_day(shop: Firm) -> None:
    """Overdue and let through; two years later it is too old as well, and stopped again."""
    rule(shop, years=2)
    shop.wanda.scan("receive", MODULE, target="DOCK")
    shop.wanda.scan("charged", MODULE, kind="2026-01-01")
    shop.mona.scan("let_through", MODULE, reason="voltage measured, 51.9 V")
    unit, last, later = shop.unit("A1"), date(2028, 1, 1), date(2028, 1, 2)

    assert charging.stopped_by(unit, last) == ""
    assert charging.stopped_by(unit, later) == (
        "Module A1: on the shelf since 1 Jan 2026, 2 years are allowed. A manager decides"
    )
    again = shop.mona.line("let_through", MODULE, reason="the maker agrees")
    when = datetime(2028, 1, 2, 9, tzinfo=UTC)
    assert intake.take(shop.mona.person, [again], when)[0].verdict == "applied"
    assert charging.stopped_by(unit, later) == ""
    limits = Charge.objects.filter(kind="override").values_list("limits", flat=True)
    assert list(limits) == ["due", "due years"]


def test_too_many_recharges_and_too_many_years_are_over(shop: Firm) -> None:
    """The maker's limits; the verdict says which one at once."""
    rule(shop, recharges=1, years=3)
    for serial in ("A1", "B2"):
        shop.wanda.scan("receive", element_string(serial), target="DOCK")
    shop.wanda.scan("charged", MODULE)
    second = shop.wanda.scan("charged", MODULE)
    shop.wanda.scan("charged", element_string("B2"), kind="2023-11-01")

    assert second.verdict == "problem"
    assert state().over == "charged 2 times on the shelf, 1 are allowed"
    assert state("B2").over == "on the shelf since 1 Nov 2023, 3 years are allowed"
    assert charging.stopped_by(shop.unit("B2"), NOW.date()).endswith("A manager decides")


def test_a_charge_beyond_the_limit_opens_one_problem_until_a_manager_decides(shop: Firm) -> None:
    """One, however often it is charged on; an undo leaves it open while the rest is too much."""
    rule(shop, recharges=1)
    shop.wanda.scan("receive", MODULE, target="DOCK")
    first, _, third = [shop.wanda.scan("charged", MODULE) for _ in range(3)]
    problems = Finding.objects.filter(answer=None)
    words = "Module A1: charged 2 times on the shelf, 1 are allowed. A manager decides."
    assert [(one.unit, one.words) for one in problems] == [(shop.unit("A1"), words)]

    shop.wanda.scan("undo", reverses=first.id)
    assert problems.all().count() == 1
    let = shop.mona.scan("let_through", MODULE, reason="the maker agrees")
    assert (let.verdict, problems.all().count()) == ("applied", 0)
    shop.mona.scan("undo", reverses=let.id)
    assert problems.all().count() == 1
    shop.wanda.scan("undo", reverses=third.id)
    assert state().over == ""
    assert clean()


def test_a_charge_to_come_or_of_nothing_is_stopped(shop: Firm) -> None:
    """No row is written."""
    shop.wanda.scan("receive", MODULE, target="DOCK")
    said = [
        shop.wanda.scan("charged", MODULE, kind="2027-01-01").sentence,
        shop.wanda.scan("charged", MODULE, kind="soon").sentence,
        shop.wanda.scan("charged", "09521234000020").sentence,
    ]

    assert said == [
        "1 Jan 2027 is still to come. Read the label again.",
        "The day of the charge: expected 2026-11-25, got soon.",
        "Scan one thing with a serial, or its box.",
    ]
    assert not Charge.objects.exists()
