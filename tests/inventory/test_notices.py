"""Recalls: what a frozen rule sets aside, now and as things come, and how it is put right."""

import io
import json
from datetime import date
from pathlib import Path

import pytest
from django.core.management import CommandError, call_command
from django.db import connection
from django.test.utils import CaptureQueriesContext

from inventory import audit, counts, freezing, notices
from inventory.models import (
    CallAnswer,
    Hold,
    Notice,
    NoticeCall,
    NoticeHit,
    NoticeRule,
    Outcome,
    Unit,
    UnitAlias,
)
from inventory.moving import nameless
from inventory.notice_lists import dry_run
from inventory.overviews import things_aside
from inventory.queries import open_hold
from tests.firm import Firm, element_string
from tests.inventory.recalls import WORDS, freeze, held, letter
from tests.inventory.test_bringing import bring

BATCH = "]C1010952123400003710LOT7"


def receive(shop: Firm, *serials: str, target: str = "DOCK") -> None:
    for serial in serials:
        done = shop.wanda.scan("receive", element_string(serial), target=target)
        assert done.verdict == "applied", done.sentence


def problems() -> list[str]:
    return [words for check in audit.run() for words in check.problems]


def test_a_letter_sets_nothing_aside_until_it_is_frozen(shop: Firm) -> None:
    """The dry run names the hits with the characters it looked at; freezing holds them, once."""
    receive(shop, "AB12X1", "AB13X1")
    notice = letter(shop.mona, "model MOD; prefix AB12")

    run = dry_run(notice, "model MOD; prefix AB12")
    (place,) = run.groups[0].places
    assert (run.groups[0].title, place.name, run.new) == ("On the shelf", "Dock", 1)
    assert place.seen[0].marks == (("AB12", True), ("X1", False))
    assert held(shop) == []

    first, again = freeze(shop.mona, notice), freeze(shop.mona, notice)

    assert (first.verdict, again.verdict) == ("applied", "noted")
    assert held(shop) == ["AB12X1"]
    assert open_hold(shop.unit("AB12X1")).reason == f"Recall {notice.code}: {WORDS}"  # type: ignore[union-attr]
    assert dry_run(notice, "model MOD; prefix AB12").new == 0


def test_only_a_manager_freezes_and_only_the_rule_that_was_looked_at(shop: Firm) -> None:
    """Somebody changed the rule in between: look again."""
    receive(shop, "AB12X1")
    notice = letter(shop.mona, "prefix AB12")
    notices.change_rule(notice, shop.mona.person, "prefix AB12\nprefix AB13")

    refused = freeze(shop.wanda, notice)
    stale = shop.mona.scan("notice_freeze", subject=notice.subject, kind="1", via="tap")

    assert refused.verdict == "refused"
    assert f"The rule of {notice.code} was changed since. Look at it again." == stale.sentence
    assert held(shop) == []


def test_a_widened_rule_adds_only_what_is_new(shop: Firm) -> None:
    """What was set aside, and what was put right and freed, is not set aside a second time."""
    receive(shop, "AB12X1", "AB12X2", "AB13X1")
    notice = letter(shop.mona, "prefix AB12")
    freeze(shop.mona, notice)
    freed = shop.mona.scan(
        "notice_free", element_string("AB12X2"), subject=notice.subject, reason="firmware 2.1"
    )
    notices.change_rule(notice, shop.mona.person, "prefix AB12\nprefix AB13")

    told = freeze(shop.mona, notice)

    assert (freed.verdict, told.sentence[:17]) == ("applied", "1 set aside for R")
    assert held(shop) == ["AB12X1", "AB13X1"]
    assert NoticeHit.objects.count() == 3
    assert problems() == []


def test_newcomers_are_judged_as_they_arrive(shop: Firm) -> None:
    """At the dock, with a serial named later, by batch; what cannot be told is said."""
    notice = letter(shop.mona, "model MOD; prefix AB12\nmodel SEA; lot LOT7\nmodel MOD; lot 9")
    freeze(shop.mona, notice)

    came = shop.wanda.scan("receive", element_string("AB12X7"), target="DOCK")
    other = shop.wanda.scan("receive", element_string("XY1"), target="DOCK")
    batch = shop.wanda.scan("receive", BATCH, target="DOCK", via="symbol")
    shop.wanda.scan("receive", "BOX-9", target="DOCK", kind="owed", **{"with": "09521234000013"})
    named = shop.wanda.scan("receive", "BOX-9", target="DOCK", **{"with": element_string("AB12Y9")})
    piece = shop.wanda.scan("make_piece", BATCH, target="DOCK", kind="opened", via="symbol")

    assert (came.verdict, f"Recall {notice.code}: {WORDS}" in came.sentence) == ("problem", True)
    assert (
        other.verdict,
        "may name it, nobody can tell: its batch is not known" in other.sentence,
    ) == ("applied", True)
    assert (batch.verdict, named.verdict, piece.verdict) == ("problem", "problem", "problem")
    assert held(shop)[:3] == ["AB12X7", "LOT7", "AB12Y9"]
    assert len(held(shop)) == 4  # the opened pack is a batch of its own
    assert problems() == []


def test_what_a_file_brings_is_judged_too(shop: Firm) -> None:
    """The file comes in whole, what the recall names of it is set aside."""
    rule = "model MOD; prefix AB12\nmodel SEA; lot LOT7"
    notice = letter(shop.mona, rule)
    freeze(shop.mona, notice)
    rows = "".join(f"BIN3;MOD;;;;;AB12{number}\n" for number in range(8))
    head = "place;item;quantity;unit;batch;use by;serial\n"
    text = f"{head}BIN1;SEA;2;l;LOT7;;\nBIN3;MOD;;;;;XY1\n{rows}"

    file = bring(shop, "stock", text)

    said = Outcome.objects.filter(event__step="bring_in").latest("pk").sentence
    assert file.state == "brought in"
    assert held(shop) == [*(f"AB12{number}" for number in range(8)), "LOT7"]
    assert "AB120 is set aside" in said
    assert "And 4 more." in said
    counted = [(place, item) for _, place, item in counts.standing({shop.sealant.pk})]
    assert counted == [("BIN1", shop.sealant.pk)]
    assert problems() == []


def test_a_day_read_from_the_label_later_may_name_it(shop: Firm) -> None:
    """Until then nobody can tell; the day that is entered decides."""
    notice = letter(shop.mona, "model MOD; made 2024-03-01 to 2024-03-31")
    freeze(shop.mona, notice)
    receive(shop, "S1", "S2")

    named = shop.mona.scan("label_says", element_string("S1"), kind="2024-03-11")
    other = shop.mona.scan("label_says", element_string("S2"), kind="2024-04-01")

    assert (named.verdict, f"Recall {notice.code}" in named.sentence) == ("problem", True)
    assert other.verdict == "applied"
    assert held(shop) == ["S1"]
    assert problems() == []


def test_an_undone_arrival_frees_nothing(shop: Firm) -> None:
    """The letter names it whether or not that scan counts; the next arrival says so again."""
    notice = letter(shop.mona, "prefix AB12")
    freeze(shop.mona, notice)
    line = shop.wanda.line("receive", element_string("AB12X7"), target="DOCK")
    event = shop.wanda.send(line)[0].id
    shop.wanda.scan("undo", reverses=event)
    before = held(shop)
    again = shop.wanda.scan("receive", element_string("AB12X7"), target="DOCK")

    assert before == ["AB12X7"]
    assert held(shop) == ["AB12X7"]
    assert (again.verdict, WORDS in again.sentence) == ("problem", True)


def test_an_undone_release_belongs_to_the_recall_again(shop: Firm) -> None:
    """Whichever way it was freed, the recall counts it as set aside."""
    receive(shop, "AB12X1")
    notice = letter(shop.mona, "prefix AB12")
    freeze(shop.mona, notice)
    text, about = element_string("AB12X1"), {"subject": notice.subject, "reason": "x"}
    for step, more in (("notice_free", about), ("release", {})):
        event = shop.mona.send(shop.mona.line(step, text, **more))[0]
        assert event.verdict == "applied", event.sentence
        assert not notices.open_hits(notice).exists()
        shop.mona.scan("undo", reverses=event.id)
        assert notices.open_hits(notice).count() == 1, step


def test_a_box_whose_whole_content_is_named_is_set_aside_too(shop: Firm) -> None:
    """Freed is it when one of them is put right."""
    shop.wanda.scan("receive", "BOX-1", target="DOCK", **{"with": element_string("AB12X1")})
    shop.wanda.scan("receive", "BOX-2", target="DOCK", **{"with": element_string("AB12X2")})
    shop.wanda.scan("receive", "BOX-2", target="DOCK", **{"with": element_string("XY1")})
    notice = letter(shop.mona, "prefix AB12")
    freeze(shop.mona, notice)

    boxes = Hold.objects.filter(release=None).exclude(place=None)
    assert [hold.place.code for hold in boxes if hold.place] == ["BOX-1"]
    aside = [one.hold for one in things_aside()]
    assert [(str(one.unit)[-2:], one.place) for one in aside] == [("X1", None), ("X2", None)]
    shop.mona.scan(
        "notice_free", element_string("AB12X1"), subject=notice.subject, reason="looked at"
    )
    assert held(shop) == ["AB12X2"]


def test_what_cannot_be_told_is_listed_with_its_reason_until_somebody_says(shop: Firm) -> None:
    """A serial that is owed, a day nobody knows, a batch nobody knows: never silently no.

    Found to be named it is set aside like a hit, and stays so when the rule is run again.
    """
    shop.wanda.scan("receive", "BOX-9", target="DOCK", kind="owed", **{"with": "09521234000013"})
    receive(shop, "AB12X1", "AB12X2", "AB12X3")
    Unit.objects.filter(serial="AB12X2").update(made_on=date(2026, 1, 7))
    Unit.objects.filter(serial="AB12X3").update(made_on=date(2025, 1, 7))
    rule = "model MOD; prefix AB12; made 2026-01"

    notice = letter(shop.mona, rule)
    text, found = element_string("AB12X1"), {"subject": notice.subject, "reason": "maker's reply"}
    early = shop.mona.scan("notice_name", text, **found)
    freeze(shop.mona, notice)
    run = dry_run(notice, rule)

    assert (run.hits, run.cannot_tell) == (1, 2)
    (group,) = run.unclear
    assert [(at.name, [one.why for one in at.seen]) for at in group.places] == [
        (
            "Dock",
            [
                "nobody knows when it was made, nobody knows its serial",
                "nobody knows when it was made",
            ],
        )
    ]
    refused = shop.wanda.scan("notice_name", text, **found)
    silent = shop.mona.scan("notice_name", text, subject=notice.subject)
    named, again = (shop.mona.scan("notice_name", text, **found) for _ in range(2))
    run = dry_run(notice, rule)

    assert "not frozen yet" in early.sentence
    assert (refused.verdict, silent.sentence) == ("refused", "Say how you know.")
    assert (named.verdict, again.verdict) == ("applied", "noted")
    assert held(shop) == ["AB12X2", "AB12X1"]
    assert NoticeHit.objects.latest("pk").why == "found to be named: maker's reply"
    assert (run.hits, run.new, run.cannot_tell, run.spared) == (2, 0, 1, 0)
    assert problems() == []


def test_it_looks_where_things_are_and_where_they_have_been(shop: Firm) -> None:
    """A unit in a box was wherever its box was carried; what came back was where it was before."""
    shop.wanda.scan("receive", "BOX-1", target="DOCK", **{"with": element_string("AB12X1")})
    shop.wanda.scan("put", "BOX-1", target="BIN2")
    shop.wanda.scan("put", "BOX-1", target="VAN1")
    shop.wanda.scan("put", "BOX-1", target="BIN3")

    run = dry_run(None, "prefix AB12")

    assert [at.name for at in run.groups[0].places] == ["Bin 3"]
    assert list(run.groups[0].places[0].seen[0].been) == ["Dock", "Bin 2", "Van 1"]


def test_a_serial_shown_by_the_electronics_counts(shop: Firm) -> None:
    """The letter lists what the screen shows, the label says another."""
    receive(shop, "AB12X1")
    unit = shop.unit("AB12X1")
    UnitAlias.objects.create(unit=unit, kind="reported", text="ZZ-77001", key="ZZ-77001")
    notice = letter(shop.mona, "ZZ-77001")

    assert freeze(shop.mona, notice).verdict == "applied"
    assert "shows itself as ZZ-77001" in NoticeHit.objects.get().why


def test_on_a_van_somebody_has_to_be_called(shop: Firm) -> None:
    """One call for a van; what is found there later joins the open call, an answered one stays."""
    receive(shop, "AB12X1", "AB12X2", target="DOCK")
    for serial in ("AB12X1", "AB12X2"):
        shop.wanda.scan("put", element_string(serial), target="VAN1")
    notice = letter(shop.mona, "AB12X1")
    first = freeze(shop.mona, notice)
    notices.change_rule(notice, shop.mona.person, "AB12X1 AB12X2")
    freeze(shop.mona, notice)

    call = NoticeCall.objects.get()
    about = {"subject": notice.subject, "number": 1}
    early = shop.mona.scan("notice_end", subject=notice.subject, kind="done", reason="x")
    refused = shop.wanda.scan("notice_told", **about, kind="told")
    told = shop.mona.scan("notice_told", **about, kind="told")
    twice = shop.mona.scan("notice_told", **about, kind="told")

    assert "1 to call" in first.sentence
    assert {"AB12X1", "AB12X2"} == {hold.unit.serial for hold in call.holds.all() if hold.unit}
    assert "2 are still set aside" in early.sentence
    assert (refused.verdict, told.verdict, twice.verdict) == ("refused", "applied", "noted")
    assert CallAnswer.objects.get().kind == "told"


def test_the_command_judges_and_freezes_only_where_asked(shop: Firm, tmp_path: Path) -> None:
    """JSON tells each thing with what was looked at; the same letter twice changes nothing."""
    receive(shop, "AB12X1", "AB13X1")
    file = tmp_path / "letter.txt"
    file.write_text("model MOD; prefix AB12\n")
    whole = ("--letter", "L-9", "--wrong", WORDS, "--freeze", "--by", "mona")

    looked = told("notice", str(file), "--json")
    for words, why in (
        ((str(file), "--freeze", "--by", "wanda"), "username of a manager, got 'wanda'"),
        ((str(file), "--freeze", "--by", "mona"), "--letter: expected words"),
        (
            (str(tmp_path / "none.txt"),),
            "none.txt: expected a file that can be read",
        ),
        (("--recall", "RC7"), "code of an open recall, got 'RC7'"),
        ((), "expected a rule's text, or --recall"),
    ):
        with pytest.raises(CommandError, match=why):
            told("notice", *words)
    before = (held(shop), Notice.objects.count())
    frozen = told("notice", str(file), *whole, "--json")
    again = told("notice", str(file), *whole)
    file.write_text("model MOD; prefix AB12, AB13\n")
    wider = told("notice", str(file), "--recall", "RC1", "--freeze", "--by", "mona", "--json")

    (hit,) = json.loads(looked)["hits"]
    assert (hit["where"], hit["serial"], hit["looked_at"]) == ("Dock", "AB12X1", ["AB12"])
    assert before == ([], 0)
    assert json.loads(frozen)["frozen"] == ["1 set aside for RC1."]
    assert "Nothing new is named" in again
    assert json.loads(wider)["frozen"] == ["1 set aside for RC1."]
    assert held(shop) == ["AB12X1", "AB13X1"]
    assert [rule.version for rule in NoticeRule.objects.order_by("version")] == [1, 2]


def told(*words: str) -> str:
    out = io.StringIO()
    call_command(*words, stdout=out)
    return out.getvalue()


def test_a_withdrawn_letter_frees_all_and_judges_no_more(shop: Firm) -> None:
    """A recall that is over stops nobody."""
    receive(shop, "AB12X1")
    notice = letter(shop.mona, "prefix AB12")
    freeze(shop.mona, notice)

    silent = shop.mona.scan("notice_end", subject=notice.subject, kind="withdrawn")
    over = shop.mona.scan("notice_end", subject=notice.subject, kind="withdrawn", reason="error")
    receive(shop, "AB12X9")

    assert (silent.sentence, over.verdict) == ("Say why it is over.", "applied")
    assert held(shop) == []
    assert f"{notice.code} is over." == freeze(shop.mona, notice).sentence
    assert problems() == []


def test_the_audit_tells_what_a_frozen_rule_names_and_nobody_set_aside(shop: Firm) -> None:
    """A day read on the label later makes a hit: freezing again takes it."""
    receive(shop, "AB12X1")
    notice = letter(shop.mona, "made 2026-01")
    freeze(shop.mona, notice)
    Unit.objects.filter(serial="AB12X1").update(made_on=date(2026, 1, 7))

    assert [words[-19:] for words in problems()] == ["it is not set aside"]
    assert freeze(shop.mona, notice).verdict == "applied"
    assert problems() == []


def test_thousands_are_frozen_piece_by_piece(shop: Firm, monkeypatch: pytest.MonkeyPatch) -> None:
    """One event opens so many holds and says that there are more, the next goes on; no scan waits.

    Each is complete: audit has nothing to say but of what is to come. What a freeze asks the
    database does not grow with what it leaves for the next one.
    """
    monkeypatch.setattr(freezing, "MOST", 40)
    Unit.objects.bulk_create(
        Unit(
            item=shop.module,
            lot=nameless(shop.module),
            serial=f"AB{number:06}",
            serial_key=f"AB{number:06}",
            place=shop.bins[0],
        )
        for number in range(100)
    )
    notice = letter(shop.mona, "range AB000000 to AB000099")

    with CaptureQueriesContext(connection) as asked:
        said = [freeze(shop.mona, notice).sentence for _ in range(4)]

    assert [words.partition(":")[0] for words in said[:2]] == ["40 set aside, more to go"] * 2
    assert said[2].startswith("20 set aside")
    assert "Nothing new" in said[3]
    assert NoticeHit.objects.count() == 100
    assert len(asked) < 100 * 2 + 4 * 60
