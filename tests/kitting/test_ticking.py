"""Ticks of a stack: one for all like joints, a photo only where one is wanted."""

from __future__ import annotations

from typing import Any

import pytest
from django.core.exceptions import ImproperlyConfigured

from inventory.models import Event
from kitting import settings as ours
from kitting import ticking
from kitting.models import Kit, Ticked
from kitting.plan.ticks import ALLOWED, DEFAULT
from kitting.printing import handover
from tests.kitting.yard import Yard, about, fresh
from tests.people import picture
from tests.printed import Sheet
from tests.stories.counting_hands import Hands
from tests.stories.test_a_stack_grows import put_up

SIX = ["fixed", "joined", "connected", "earthed", "tight", "covered"]


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
    hands.follow("Tick them")
    assert wanted[0].asked.words in hands.page.words


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
