"""Two claims on one thing: both jobs are named to the office, and what the ledger settles ends."""

import pytest
from django.test import Client

from inventory import audit
from inventory.models import Finding
from kitting.models import Kit
from tests.kitting.yard import Yard, about
from tests.stories.counting_hands import Hands


@pytest.fixture
def other(yard: Yard, kit: Kit) -> Kit:
    """Another crew's kit with S1 on its van, which the first crew has just scanned for its own."""
    other = yard.kit(yard.job(crew=yard.tove))
    yard.box("S1")
    for step in ("pick", "load"):
        yard.wanda.scan(step, "BOX-S1", **about(other))
    assert yard.tariq.scan("unbox", "S1", **about(kit)).verdict == "dispute"
    return other


def open_claims() -> list[str]:
    return [one.words for one in Finding.objects.filter(kind="clash", answer=None)]


def answers() -> list[str]:
    found = Finding.objects.filter(kind="clash").exclude(answer=None)
    return list(found.values_list("answer__words", flat=True))


def page(yard: Yard, address: str) -> str:
    desk = Client()
    desk.force_login(yard.mona.person)
    return desk.get(address).content.decode()


def test_the_office_reads_of_both_jobs_with_links_and_what_ends_it(
    yard: Yard, kit: Kit, other: Kit
) -> None:
    """On the problems' page and on both jobs' pages; the crew's own page names no other job."""
    for address in ("/problems/", f"/jobs/{kit.job.code}/", f"/jobs/{other.job.code}/"):
        html = page(yard, address)
        for one in (kit, other):
            assert f'<a href="/kits/{one.code}/">Kit {one.code}</a>' in html, address
        assert "It ends by itself once" in html
    phone = Client()
    phone.force_login(yard.tariq.person)
    mine = phone.get(f"/my/{kit.job.code}/").content.decode()

    assert "Claimed twice" in mine
    assert other.code not in mine
    assert "It ends by itself once" not in mine


def test_one_press_leaves_it_with_whom_the_book_has(yard: Yard, kit: Kit, other: Kit) -> None:
    """Nothing is typed."""
    mona = Hands(yard.mona.person).begin("/problems/")

    assert mona.press(f"It stays with Kit {other.code}") == "applied"
    assert (open_claims(), answers()) == ([], [f"It stays with Kit {other.code}"])


@pytest.mark.parametrize(
    ("who", "step", "fields", "words"),
    [
        ("tove", "fit", {"position": {"stack": 1, "level": 1}}, "S1 stands fitted now."),
        ("tove", "bring_back", {}, "S1 is at Van 1 now, with no kit."),
        ("wanda", "put", {"target": "BIN1"}, "S1 is at Bin 1 now, with no kit."),
    ],
)
def test_where_the_ledger_settles_it_the_problem_ends_by_itself(
    yard: Yard, kit: Kit, other: Kit, who: str, step: str, fields: dict[str, object], words: str
) -> None:
    """Fitted, or with no kit any more; an undo asks again."""
    hand = yard.tove if who == "tove" else yard.wanda
    done = hand.scan(step, "S1", **fields, **(about(other) if who == "tove" else {}))

    assert done.verdict in ("applied", "problem"), done.sentence
    assert open_claims() == []
    assert [said.endswith(words) for said in answers()] == [True]
    hand.scan("undo", reverses=done.id)
    assert len(open_claims()) == 1
    assert [check for check in audit.run() if check.problems] == []


@pytest.mark.parametrize("asks", [True, False])
def test_closing_either_job_ends_it(yard: Yard, kit: Kit, other: Kit, asks: bool) -> None:
    """The one that asked, or the one that had it once nothing of that is left."""
    if asks:
        closed = yard.tariq.scan("close_kit", **about(kit))
    else:
        yard.tove.scan("unbox", "S1", **about(other))
        yard.tove.scan("missing", "S1", **about(other))
        closed = yard.tove.scan("close_kit", **about(other))

    assert closed.verdict == "applied", closed.sentence
    assert open_claims() == []
    assert answers() == [f"{kit.code} is closed." if asks else "The job that had it is closed."]


def test_a_bag_of_another_job_is_named_too_and_ends_with_it(yard: Yard, kit: Kit) -> None:
    """What has no serial is claimed by its label."""
    other = yard.kit(yard.job(crew=yard.tove))
    parcel = other.packages.get(kind="parcel").place
    yard.shelve("CT-BRACKET", 2)
    yard.wanda.scan("pick", "CT-BRACKET", quantity=2, **about(other))
    assert yard.wanda.scan("load", parcel.code, **about(kit)).verdict == "dispute"
    html = page(yard, f"/jobs/{kit.job.code}/")
    assert f'<a href="/kits/{other.code}/">Kit {other.code}</a>' in html
    yard.wanda.scan("load", parcel.code, **about(other))
    assert len(open_claims()) == 1
    yard.tove.scan("use", **about(other))
    assert yard.tove.scan("close_kit", **about(other)).verdict == "applied"

    assert open_claims() == []


def test_which_of_two_places_of_one_job_is_right_stays_for_a_person(yard: Yard, kit: Kit) -> None:
    """Two phones of one crew disagree: closing the job answers nothing of it."""
    yard.box("S1")
    mate = yard.firm.phone(yard.tove.person)
    kit.job.crew.add(yard.tove.person)
    for phone, level in ((yard.tariq, 1), (mate, 2)):
        phone.scan("fit", "S1", position={"stack": 1, "level": level}, **about(kit))
    yard.ticks(kit)

    assert yard.tariq.scan("close_kit", **about(kit)).verdict == "applied"
    assert len(open_claims()) == 1
    assert "It stays where the book has it" in page(yard, f"/jobs/{kit.job.code}/")
