"""Ticks of a stack: one for all like joints, a photo only where one is wanted."""

from __future__ import annotations

from typing import Any

import pytest
from django.core.exceptions import ImproperlyConfigured

from inventory.models import Event, Finding
from kitting import settings as ours
from kitting import ticking
from kitting.models import Kit, Ticked
from kitting.plan.ticks import ALLOWED, DEFAULT
from kitting.printing import handover
from kitting.ticking import WHY_NOT
from tests.kitting.test_unboxing import carry
from tests.kitting.yard import Yard, about, fresh
from tests.people import picture
from tests.printed import Sheet
from tests.stories.counting_hands import Hands
from tests.stories.test_a_stack_grows import put_up

SIX = ["fixed", "joined", "connected", "earthed", "tight", "covered"]


def stand(yard: Yard, kit: Kit) -> None:
    """One module at the first place of the first stack, and nothing left of the kit."""
    carry(yard, kit, "S1")
    yard.tariq.scan("unbox", "S1", **about(kit))
    place = {"stack": 1, "level": 1}
    done = yard.tariq.scan("fit", "S1", position=place, **about(kit))
    assert done.verdict == "applied", done.sentence


def test_a_stack_is_ticked_by_six_touches_and_one_photo(yard: Yard, kit: Kit) -> None:
    """Nothing is typed; the photo is its own tick; one taken back is open again."""
    hands = Hands(yard.tariq.person).begin(f"/my/{kit.job.code}/fit")
    wanted = ticking.wanted_of(kit)
    assert [one.asked.key for one in wanted] == SIX
    for one in wanted[:-1]:
        assert hands.press(one.asked.words) == "applied", hands.said
    tick = {"kind": "covered", "number": 1, **about(kit)}
    assert yard.tariq.scan("tick", **tick).sentence == "Take the photo first."
    photo = hands.photograph(picture(), kit.subject)
    assert hands.sent_at_once("tick", photo=photo, kind="covered") == "applied", hands.said

    assert (hands.touches, hands.typed, hands.scans) == (7, 0, 0)
    assert all(one.row is not None for one in ticking.wanted_of(kit))
    again = yard.tariq.scan("tick", photo=photo, **tick)
    assert (again.verdict, "ticked before by Tariq" in again.sentence) == ("noted", True)
    hands.begin(f"/my/{kit.job.code}/fit")
    assert hands.press("Take it back") == "applied"
    open_again = [one.asked.key for one in ticking.wanted_of(kit) if one.row is None]
    assert open_again == ["fixed"]
    assert Ticked.objects.count() == len(SIX)


def test_each_stack_has_its_own(yard: Yard) -> None:
    """Two stacks: a tick at one is none at the other, and a third is not asked."""
    kit = yard.kit(yard.job(stacks=[{"modules": 2}, {"modules": 2}], gap=300))
    done = yard.tariq.scan("tick", kind="joined", number=2, **about(kit))
    third = yard.tariq.scan("tick", kind="joined", number=3, **about(kit))

    assert (done.verdict, third.verdict) == ("applied", "stopped")
    joined = [one for one in ticking.wanted_of(kit) if one.asked.key == "joined"]
    assert [(one.asked.stack, one.row is not None) for one in joined] == [(1, False), (2, True)]


@pytest.mark.parametrize(
    ("job", "page", "keys"),
    [
        (
            {"job": "expansion", "stacks": [{"modules": 3}], "before": [{"modules": 2}]},
            "fit",
            ["fixed", "joined", "covered"],
        ),
        ({"job": "swap", "swap": [{"stack": 1, "level": 1}]}, "swap", ["joined"]),
        ({"job": "removal"}, "down", ["capped"]),
    ],
    ids=["expansion", "swap", "removal"],
)
def test_other_days_ask_only_for_what_they_touch(
    yard: Yard, job: dict[str, Any], page: str, keys: list[str]
) -> None:
    """What stood before is not ticked again; the finish names what is not ticked."""
    put_up(yard)
    if "before" in job:
        job = {**job, "before": {"stacks": job["before"]}}
    kit = yard.kit(yard.job(**job))
    hands = Hands(yard.tariq.person).begin(f"/my/{kit.job.code}/{page}")

    wanted = ticking.wanted_of(kit)
    assert [one.asked.key for one in wanted] == keys
    assert all(one.asked.words in hands.page.words for one in wanted)
    hands.begin(f"/my/{kit.job.code}/back")
    assert "Not ticked yet" in hands.page.words
    hands.follow("Tick them, or say why not")
    assert wanted[0].asked.words in hands.page.words


def test_a_kit_closes_when_each_tick_is_answered(yard: Yard, kit: Kit) -> None:
    """Ticked, or said by choice why not, which the office sees; taken back it is open again."""
    stand(yard, kit)
    first = yard.tariq.scan("close_kit", **about(kit))
    assert first.verdict == "stopped"
    assert first.sentence.startswith("Not ticked: stack 1: level, fixed and held; stack 1: every")
    assert first.sentence.endswith(" and 1 more. Tick it, or say why it was not done.")

    hands = Hands(yard.tariq.person).begin(f"/my/{kit.job.code}/fit")
    assert hands.press("Not done: tell the office") == "problem"
    assert (
        hands.said
        == f"Not done at stack 1: level, fixed and held: {WHY_NOT[0]}. The office sees it."
    )
    hands.begin(f"/my/{kit.job.code}/fit").ticks(kit)
    assert ticking.unanswered(kit) == []
    told = ticking.wanted_of(kit)[0]
    assert told.why_not == WHY_NOT[0]
    text = Sheet(handover.pdf(fresh(kit), "A4")).text
    assert f"not done: {WHY_NOT[0]} (Tariq" in " ".join(text.split())
    desk = Hands(yard.mona.person).begin("/problems/")
    assert f"Not done at stack 1: level, fixed and held: {WHY_NOT[0]}." in desk.page.words
    hands.begin(f"/my/{kit.job.code}/fit")
    assert hands.press("Take it back") == "applied"
    assert [one.asked.key for one in ticking.unanswered(kit)] == ["fixed"]
    assert not Finding.objects.filter(kind="not done", answer=None, event__reversed_by=None)
    assert yard.tariq.scan("close_kit", **about(kit)).verdict == "stopped"
    yard.ticks(kit)
    assert yard.tariq.scan("close_kit", **about(kit)).verdict == "applied"


def test_the_photo_that_the_firm_wants_is_not_a_dead_end(yard: Yard, kit: Kit) -> None:
    """Without it nothing is ticked; a reason in a person's own words answers it too."""
    tick = {"kind": "covered", "number": 1, **about(kit)}
    assert yard.tariq.scan("tick", **tick).verdict == "stopped"
    done = yard.tariq.scan("tick", reason="the camera is broken", **tick)

    assert done.verdict == "problem"
    assert ticking.wanted_of(kit)[-1].why_not == "the camera is broken"


def test_who_built_nothing_ticks_nothing(yard: Yard) -> None:
    """A stack where no unit came or went is not asked for; one of two that stands is."""
    kit = yard.kit(yard.job(stacks=[{"modules": 2}, {"modules": 2}], gap=300))
    assert ticking.unanswered(kit) == []
    stand(yard, kit)

    assert {one.asked.stack for one in ticking.unanswered(kit)} == {1}


@pytest.mark.sqlite_only  # paper, the same from either database
def test_the_hand_over_sheet_says_what_was_looked_over_and_what_not(yard: Yard, kit: Kit) -> None:
    """With the name of who ticked it."""
    yard.tariq.scan("tick", kind="earthed", number=1, **about(kit))
    text = Sheet(handover.pdf(fresh(kit), "A4")).text
    told = text[text.index("Looked over") : text.index("Measured at the site")]

    assert "Earth and bonding connected Tariq (tariq)," in told
    assert told.count("not ticked") == len(SIX) - 1


def test_a_firm_wants_what_its_list_says(
    yard: Yard, kit: Kit, settings: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Its own order of few, or none; a word that no tick has stops the start."""
    settings.TICKS = ["earthed+photo"]
    assert [(one.asked.key, one.asked.photo) for one in ticking.wanted_of(kit)] == [
        ("earthed", True)
    ]
    settings.TICKS = []
    assert ticking.wanted_of(kit) == []
    page = Hands(yard.tariq.person).begin(f"/my/{kit.job.code}/fit").page
    assert "To tick" not in page.words
    assert not Event.objects.filter(step="tick").exists()

    for given, read in (("none", []), ("tight, fixed", ["tight", "fixed"])):
        monkeypatch.setenv("LASTBOLT_TICKS", given)
        assert ours.several("LASTBOLT_TICKS", DEFAULT, ALLOWED) == read
    monkeypatch.setenv("LASTBOLT_TICKS", "tight,bolts")
    with pytest.raises(ImproperlyConfigured, match="got 'bolts'"):
        ours.several("LASTBOLT_TICKS", DEFAULT, ALLOWED)
