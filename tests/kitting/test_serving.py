"""Short stock: most complete kits beside by date, and that a decision changes who takes."""

from datetime import timedelta

import pytest
from django.test import Client
from django.urls import reverse

from kitting import overviews, serving, sourcing, still_needed
from kitting.models import Job, Kit, Serving, Turn
from kitting.packing import Refused
from tests.busy import comes_later
from tests.kitting.yard import DAY, Yard

ITEM = "CT-BRACKET"


@pytest.fixture
def three(yard: Yard) -> list[Kit]:
    """A big job first, then two small ones a day later each; brackets for the small ones alone."""
    sizes = (5, 2, 2)
    kits = [yard.kit(yard.job(stacks=[{"modules": size}])) for size in sizes]
    for days, kit in enumerate(kits):
        Job.objects.filter(pk=kit.job_id).update(date=DAY + timedelta(days=days))
    wanted = [kit.lines.get(item__code=ITEM).quantity for kit in kits]
    assert wanted[0] > wanted[1]
    yard.shelve(ITEM, wanted[1] + wanted[2])
    yard.wanda.scan("count", ITEM, target="BIN1", quantity=wanted[1] + wanted[2])
    return kits


def whole(way: serving.OneWay) -> list[str]:
    return sorted(one.kit.code for one in way.served if one.whole)


def test_most_complete_kits_lets_an_early_job_wait(three: list[Kit]) -> None:
    """By date the big kit of the first day takes what two others need."""
    both = serving.side_by_side()
    most, by_date, released = both.ways
    assert [item.code for item in both.short] == [ITEM]
    assert whole(most) == [kit.code for kit in three[1:]]
    assert (both.at_most, most.whole) == (2, 2)
    assert len(whole(by_date)) <= 1
    assert released.seen == both.now.seen


def test_a_decision_is_the_turn_in_which_kits_take(yard: Yard, three: list[Kit]) -> None:
    """Pages, lists and shelves follow; later kits come after; what was decided stays written."""
    most = serving.side_by_side().ways[0]
    made = serving.decide("most", most.seen, yard.mona.person)
    later = yard.kit(yard.job())

    assert list(still_needed.open_kits()) == [three[1], three[2], three[0], later]
    assert [kit.pk for kit in sourcing.served_before(three[0])] == [three[1].pk, three[2].pk]
    assert not [s for s in sourcing.shortages(three[2]) if s.item.code == ITEM]
    assert [s.item.code for s in sourcing.shortages(three[0]) if s.item.code == ITEM] == [ITEM]
    rows = {row.job.pk: row for row in overviews.rows_of(Job.objects.all())}
    assert rows[three[0].job_id].readiness.word == "Will break"
    assert (made.whole, made.at_most, made.turns.count()) == (2, 2, 3)
    back = serving.side_by_side().ways[2]
    serving.decide("release", back.seen, yard.mona.person)
    assert list(still_needed.open_kits()) == [*three, later]
    assert (Serving.objects.count(), Turn.objects.count()) == (2, 7)


def test_a_press_on_an_old_page_decides_nothing(yard: Yard, three: list[Kit]) -> None:
    """The shelves changed since: look again. So does a way that is none."""
    seen = serving.side_by_side().ways[0].seen
    yard.shelve(ITEM, 50)
    with pytest.raises(Refused, match="changed since"):
        serving.decide("most", seen, yard.mona.person)
    with pytest.raises(Refused, match="expected one of"):
        serving.decide("loudest", seen, yard.mona.person)
    assert not Serving.objects.exists()


def test_the_page_puts_the_ways_side_by_side(yard: Yard, three: list[Kit]) -> None:
    """Worked out apart from the page; a press of the manager is on the page afterwards."""
    where = reverse("short_stock")
    mona, wanda = Client(), Client()
    mona.force_login(yard.mona.person)
    wanda.force_login(yard.wanda.person)
    meanwhile = wanda.get(where).content.decode()
    shown = comes_later(wanda, where, meanwhile, "ways-of-serving")
    assert "No turn makes more than <strong>2</strong> of 3 kits whole" in shown
    assert "Serve so from now on" not in shown
    most = serving.side_by_side().ways[0]
    done = mona.post(where, {"way": "most", "seen": most.seen}, follow=True).content.decode()
    assert "Most complete kits from now on." in done
    assert "Now: most complete kits</strong>, decided by Mona" in done
    stale = mona.post(where, {"way": "date", "seen": "J1001-1-"}).content.decode()
    assert "Look again, then press" in stale
