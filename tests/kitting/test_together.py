"""Several kits in one walk: what one takes is there for no other, each line is split by box."""

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from kitting import box_letters, together
from kitting.models import Kit, Package
from kitting.progress import fold
from tests.kitting.yard import Yard, about, fresh


@pytest.fixture
def two(yard: Yard) -> list[Kit]:
    """Two kits of two modules; the first bin has brackets for one of them, the second for both."""
    yard.shelve("CT-BRACKET", 3)
    yard.shelve("CT-BRACKET", 20, yard.firm.bins[1])
    return [yard.kit(), yard.kit()]


def line_of(kits: list[Kit], code: str, place: str = "") -> together.Line:
    lines = together.walk([fresh(kit) for kit in kits]).lines
    return next(line for line in lines if line.item.code == code and place in ("", line.place.code))


def split(line: together.Line) -> dict[str, int]:
    return {share.kit.letter: share.quantity for share in line.split}


def test_open_kits_bear_letters_of_their_own(yard: Yard, two: list[Kit]) -> None:
    """A, B; the letter of a closed kit is free again; labels of parcel, bag and kit show it."""
    assert [kit.letter for kit in two] == ["A", "B"]
    parcel = Package.objects.get(kit=two[1], kind="parcel").place
    assert box_letters.mark_of(parcel) == "B"
    assert box_letters.mark_of(yard.firm.dock) == ""
    assert box_letters.first_free({"A", "B", "D"}) == "C"
    assert box_letters.first_free(set(box_letters.LETTERS)) == "AA"
    assert not set("IOQ") & set(box_letters.LETTERS)


def test_a_line_is_split_and_what_one_takes_is_gone_for_the_next(two: list[Kit]) -> None:
    """Three in the first bin: two for the older kit and one for the younger, one from the next."""
    need = fold(two[0]).totals["CT-BRACKET"].needed
    assert need == 2

    assert split(line_of(two, "CT-BRACKET", "BIN1")) == {"A": 2, "B": 1}
    assert split(line_of(two, "CT-BRACKET", "BIN2")) == {"B": 1}


def test_one_box_filled_leaves_the_others_as_they_were(yard: Yard, two: list[Kit]) -> None:
    """Whichever box is served first, the rest of the line stays what was shown."""
    done = yard.wanda.scan("pick", "CT-BRACKET", quantity=1, start="BIN1", **about(two[1]))
    assert done.verdict == "applied", done.sentence

    assert split(line_of(two, "CT-BRACKET", "BIN1")) == {"A": 2}
    assert split(line_of(two, "CT-BRACKET", "BIN2")) == {"B": 1}


def test_no_module_is_offered_to_two_kits(yard: Yard) -> None:
    """Three modules for two kits of two: each serial once, what lacks is told with its letter."""
    for number in (1, 2, 3):
        yard.box(f"S{number}", at=yard.firm.bins[2])
    kits = [yard.kit(), yard.kit()]
    walk = together.walk(kits)
    line = next(line for line in walk.lines if line.item.code == "CT-MODULE")

    assert split(line) == {"A": 2, "B": 1}
    assert sorted(s for share in line.split for s in share.serials) == ["S1", "S2", "S3"]
    assert {"S1", "BOX-S1"} <= line.keys
    lacking = next(one for one in walk.short if one.item.code == "CT-MODULE")
    assert lacking.by_letter == {"B": 1}
    assert "CT-MODULE" in lacking.keys  # one may lie there all the same


def test_a_line_knows_every_thing_in_its_bin(yard: Yard) -> None:
    """Four modules there for a kit of two: "or another" says the page, and knows each by label."""
    for number in (1, 2, 3, 4):
        yard.box(f"S{number}", at=yard.firm.bins[2])
    yard.box("S9", at=yard.firm.bins[1])
    yard.box("S5", at=yard.firm.bins[2])
    yard.wanda.scan("set_aside", "S5", reason="crushed")
    line = line_of([yard.kit()], "CT-MODULE", yard.firm.bins[2].code)

    assert {f"S{number}" for number in (1, 2, 3, 4)} <= line.keys
    assert {f"BOX-S{number}" for number in (1, 2, 3, 4)} <= line.keys
    assert not {"S5", "BOX-S5", "S9"} & line.keys  # set aside; in another bin


def test_heavy_things_come_first_then_bins_in_their_order(yard: Yard) -> None:
    """A module in the last bin stands before the bracket in the first."""
    yard.box("S1", at=yard.firm.bins[2])
    yard.shelve("CT-BRACKET", 9, yard.firm.bins[1])
    yard.shelve("CT-CLAMP-L", 9)
    kits = [yard.kit(), yard.kit()]
    codes = [line.item.code for line in together.walk(kits).lines]

    assert codes == ["CT-MODULE", "CT-CLAMP-L", "CT-BRACKET"]


def test_the_bags_of_a_box_are_told_where_a_thing_goes_into_several(
    yard: Yard, two: list[Kit]
) -> None:
    """Twelve ties of two steps: four in one bag, eight in the other."""
    yard.shelve("CT-TIE", 40)
    told = dict(line_of(two, "CT-TIE").split[0].told)

    assert sorted(told.values()) == [4, 8]
    assert all(bag is not None and bag.name.startswith("Bag ") for bag in told)


def test_the_page_is_for_the_desk_and_names_kits_or_a_day(
    yard: Yard, two: list[Kit], client: Client
) -> None:
    """By code and by day; what nobody may pick is not on it."""
    client.force_login(yard.wanda.person)
    both = client.get(reverse("kits_together"), {"day": "2026-11-26"}).content.decode()
    one = client.get(reverse("kits_together"), {"kit": two[1].code}).content.decode()
    none = client.get(reverse("kits_together"), {"day": "soon"}).content.decode()

    assert "One walk for 2 kits" in both
    assert 'data-letter="A" data-quantity="2"' in both
    assert "One walk for 1 kit" in one
    assert two[0].code not in one
    assert "No kit that is open was named" in none
    assert "All 2 of Thursday 26 November in one walk" in client.get("/kits/").content.decode()


def test_twelve_kits_are_asked_no_more_questions_than_two(yard: Yard, client: Client) -> None:
    """Tools, lengths, boxes, bags and things with serials among them, some packed and some not.
    Of two, the ten that wait beside them are looked at, too."""
    yard.shelve("CT-BRACKET", 60)
    yard.shelve("CT-AC4", 90_000)
    for number in range(4):
        yard.box(f"S{number}", at=yard.firm.bins[2])
    kits = [yard.kit() for _ in range(together.MOST)]
    for kit in kits:
        yard.wanda.scan("pick", "CT-BRACKET", quantity=1, **about(kit))
    yard.wanda.scan("pick", "S1", **about(kits[0]))
    client.force_login(yard.wanda.person)
    asked = []
    for some in (kits[:2], kits):
        codes = "&".join(f"kit={kit.code}" for kit in some)
        with CaptureQueriesContext(connection) as found:
            html = client.get(f"{reverse('kits_together')}?{codes}").content.decode()
        assert f"One walk for {len(some)} kits" in html
        asked.append(len(found))

    assert asked[1] <= asked[0] <= 42
