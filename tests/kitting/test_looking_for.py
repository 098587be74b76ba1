"""Looking for a thing at the site: where it travels, who packed it, what waits, who has one."""

import pytest

from inventory.models import Finding, Item, Person, Place
from kitting import looking_for, packing
from kitting.looking_for import Sought
from kitting.models import Kit, Package, PartRequest, Whereabouts
from kitting.progress import fold
from tests.kitting.test_unboxing import bag, carry
from tests.kitting.yard import Yard, about
from tests.people import picture
from tests.stories.counting_hands import Hands

BLANK, NUT, TIE = "CT-PBLANK", "CT-N32", "CT-TIE"


@pytest.fixture
def packed(yard: Yard, kit: Kit) -> Kit:
    """A power unit in its box, twelve ties in bags of a parcel: picked by Wanda, on the van."""
    carry(yard, kit)
    yard.box("P1", "CT-POWER")
    yard.shelve(TIE, 30)
    for text in ("BOX-P1", TIE):
        yard.wanda.scan("pick", text, **about(kit), **({"quantity": 12} if text == TIE else {}))
    parcel = Package.objects.get(kit=kit, kind="parcel").place
    yard.wanda.scan("load", "BOX-P1", **about(kit))
    yard.tariq.scan("load", parcel.code, **about(kit))
    return kit


def of(kit: Kit, text: str) -> Sought:
    """What is said of the thing that is sent so."""
    return next(one for one in looking_for.sought(kit) if one.text == text)


def missing(yard: Yard, kit: Kit, text: str, **more: object) -> str:
    """Tell it missing and ask the depot, as the page's one button does."""
    done = yard.tariq.scan("request", text, kind="missing", **more, **about(kit))
    return f"{done.verdict}: {done.sentence}"


def test_it_says_where_it_travels_and_who_packed_it(yard: Yard, packed: Kit) -> None:
    """A bag in its parcel on the van, packed by the bench, loaded by the crew."""
    bags = of(packed, TIE).travels

    assert {spot.place.code for spot in bags} <= {
        package.place.code for package in packed.packages.filter(kind="bag")
    }
    assert all("Van 1" in str(spot.place.way_up()[-1].name) for spot in bags)
    hands = [(hand.step, hand.by) for hand in bags[0].handled]
    assert hands == [("pick", "Wanda"), ("load", "Tariq")]
    power = of(packed, "P1").travels[0]
    assert power.place.code == "BOX-P1"
    assert [hand.by for hand in power.handled] == ["Wanda", "Wanda"]


def test_what_lies_in_another_s_box_is_told_by_the_family(packed: Kit) -> None:
    """The nut comes in the power unit's carton; the family says where in it."""
    spot = of(packed, NUT).travels[0]

    assert spot.words == "1 x locknut M32 in the box of power unit"
    assert spot.place.code == "BOX-P1"
    assert spot.lies.words == "small bag under the lid"
    assert of(packed, BLANK).travels[0].lies.words == ""


def test_told_once_everybody_sees_it(yard: Yard, packed: Kit) -> None:
    """Words and photo count for every kit; a later telling without a photo keeps the photo."""
    hands = Hands(yard.tariq.person).begin(f"/my/{packed.job.code}/missing")
    photo = hands.photograph(picture(), f"item:{BLANK}")
    blank = {"subject": f"item:{BLANK}", "with": "CT-POWER"}
    yard.tariq.scan("show_where", BLANK, reason="taped to the back", photo=photo, **blank)
    yard.wanda.scan("show_where", BLANK, reason="in the lid's left pocket", **blank)
    other = yard.kit(yard.job(crew=yard.tove))

    for kit in (packed, other):
        lies = of(kit, BLANK).travels[0].lies
        assert (lies.words, lies.photo, lies.by) == ("in the lid's left pocket", photo, "Wanda")
    tove = Hands(yard.tove.person).client
    assert tove.get(f"/photos/{photo}").status_code == 200
    assert photo in tove.get(f"/my/{other.job.code}/missing").content.decode()
    undone = yard.wanda.line("undo", reverses=str(Whereabouts.objects.last().event.uid))
    assert yard.wanda.send(undone)[0].verdict == "applied"
    assert of(packed, BLANK).travels[0].lies.words == "taped to the back"


@pytest.mark.parametrize(
    ("text", "more", "words"),
    [
        (BLANK, {}, "Say where it lies, or take a photo of it"),
        (BLANK, {"reason": "here", "with": "CT-NOTHING"}, "No item is called CT-NOTHING"),
        ("NOBODY", {"reason": "here"}, ""),
    ],
)
def test_telling_nothing_is_stopped(
    yard: Yard, packed: Kit, text: str, more: dict[str, str], words: str
) -> None:
    """Neither words nor photo; another item that nobody knows; nothing we know."""
    done = yard.tariq.scan("show_where", text, subject=f"item:{BLANK}", **more)

    assert (done.verdict, words in done.sentence) == ("stopped", True)
    assert not Whereabouts.objects.exists()


def test_a_subject_that_is_no_item_is_refused(yard: Yard, packed: Kit) -> None:
    """The photo would be nobody's."""
    done = yard.tariq.scan("show_where", BLANK, subject="item:CT-NOTHING", reason="here")

    assert (done.verdict, done.kind) == ("refused", "not_allowed")


def test_it_says_what_waits_for_it(packed: Kit) -> None:
    """Ties are for joining: what comes before goes on without them."""
    titles = [step["title"] for step in packed.snapshot["steps"]]
    lines = packed.lines.filter(item__code=TIE, spare=False).values_list("step", flat=True)
    first = min(lines, key=[step["key"] for step in packed.snapshot["steps"]].index)
    one = of(packed, TIE)

    at = [step["key"] for step in packed.snapshot["steps"]].index(first)
    assert one.needed_for[0] == titles[at]
    assert one.before == tuple(titles[:at])
    assert at > 0
    assert of(packed, bag(packed, first).code).needed_for[0] == titles[at]


def test_who_has_one_is_told_without_naming_another_crew_s_job(yard: Yard, packed: Kit) -> None:
    """Own van, next van with whom to call, other kits by a lead's yes, the shelf: in this order."""
    yard.shelve(TIE, 5, at=yard.firm.van)
    van = Place.objects.create(kind="van", code="VAN2", name="Van 2")
    yard.shelve(TIE, 7, at=van)
    Person.objects.filter(pk=yard.tove.person.pk).update(phone="+1 555 0100")
    job = yard.job(crew=yard.tove, site=packing.open_site("Secret house", "9 Hidden Lane"))
    job.van = van
    job.save()
    other = yard.kit(job)
    yard.wanda.scan("pick", TIE, quantity=4, **about(other))

    has = of(packed, TIE).has
    assert [(some.words.split(",")[0].split(":")[0], some.quantity) for some in has] == [
        ("Van 1", 5),
        ("Van 2", 7),
        ("packed for other jobs", 4),
        ("on the shelf at the depot", 14),
    ]
    assert has[1].call == (("Tove", "+1 555 0100"),)
    html = Hands(yard.tariq.person).client.get(f"/my/{packed.job.code}/missing").content.decode()
    assert 'href="tel:+1 555 0100"' in html
    assert [words for words in (other.job.code, "Secret", "Hidden") if words in html] == []


def test_missing_is_asked_for_by_the_same_event(yard: Yard, packed: Kit) -> None:
    """A bag, a thing with a serial, a number of ties; told again nothing is asked twice."""
    step = packed.lines.filter(item__code=TIE).values_list("step", flat=True)[0]
    whole = bag(packed, step)
    inside = {move.item.code for move in looking_for.left_of(packed) if move.place == whole}
    assert inside == {TIE}

    assert "the depot is asked for it as Q1" in missing(yard, packed, whole.code)
    assert "the depot is asked for it as Q2" in missing(yard, packed, "P1")
    assert missing(yard, packed, "P1").startswith("noted")
    assert [str(one.item or one.place) for one in PartRequest.objects.order_by("pk")] == [
        whole.name,
        str(Item.objects.get(code="CT-POWER")),
    ]
    assert of(packed, whole.code).asked.request.code == "Q1"


def test_without_a_number_all_of_it_is_asked_for(yard: Yard, packed: Kit) -> None:
    """What the kit's parcels hold of it; with a number so many."""
    held = fold(packed).totals[TIE].picked
    missing(yard, packed, TIE)

    assert PartRequest.objects.get().quantity == held == 12


def test_the_page_asks_in_three_touches(yard: Yard, packed: Kit) -> None:
    """From the job: missing, open the thing, not there. Nothing is typed."""
    hands = Hands(yard.tariq.person).begin(f"/my/{packed.job.code}/")
    hands.follow("Something is missing")
    hands.unfold()
    assert hands.press("Not there: ask the depot for it", near="P1") == "applied", hands.said

    assert (hands.touches, hands.typed) == (3, 0)
    assert PartRequest.objects.get().unit.serial == "P1"
    html = hands.client.get(f"/my/{packed.job.code}/missing").content.decode()
    assert "small bag under the lid" in html
    assert html.index("Look here first") < html.index("Not there: ask the depot")


@pytest.mark.parametrize("told", [("missing", {}), ("request", {"kind": "missing"})])
def test_missing_by_number_and_seen_after_all_is_settled(
    yard: Yard, packed: Kit, told: tuple[str, dict[str, str]]
) -> None:
    """Eight missing; five turn up: three are still missing, and nothing is counted twice."""
    step, kind = told
    yard.tariq.scan(step, TIE, quantity=8, **kind, **about(packed))
    seen = yard.tariq.scan("unbox", TIE, quantity=9, **about(packed))  # 4 packed, 5 found

    assert (seen.verdict, "Of what was missing is found: 5 x" in seen.sentence) == ("problem", True)
    total = fold(packed).totals[TIE]
    assert (total.seen, total.missing, total.lost) == (9, 3, 3)
    rest = yard.tariq.scan("unbox", TIE, **about(packed))
    total = fold(packed).totals[TIE]
    assert (rest.verdict, total.seen, total.missing, total.lost) == ("problem", 12, 0, 0)
    assert not Finding.objects.filter(kind="missing", answer=None).exists()


def test_what_is_asked_for_as_damaged_counts_as_damaged(yard: Yard, packed: Kit) -> None:
    """By number it is apart from what is good, whichever way it was told."""
    damage = {"kind": "damaged", "quantity": 2, "photo": "d" * 64, "reason": "bent"}
    done = yard.tariq.scan("request", TIE, **damage, **about(packed))

    assert done.verdict == "applied", done.sentence
    assert fold(packed).totals[TIE].damaged == 2
    yard.tariq.scan("undo", reverses=done.id)
    assert fold(packed).totals[TIE].damaged == 0


def test_each_line_of_the_job_and_each_thing_to_unbox_says_where_it_travels(
    yard: Yard, packed: Kit
) -> None:
    """Bag, parcel and van; what lies in another's box, how, with the photo that was taken once."""
    hands = Hands(yard.tariq.person).begin(f"/my/{packed.job.code}/missing")
    photo = hands.photograph(picture(), f"item:{NUT}")
    yard.tariq.scan(
        "show_where", NUT, photo=photo, reason="", **{"subject": f"item:{NUT}", "with": "CT-POWER"}
    )
    yard.tariq.scan("show_where", TIE, subject=f"item:{TIE}", reason="tied to the handle")
    job, unbox = (
        " ".join(hands.client.get(f"/my/{packed.job.code}/{page}").content.decode().split())
        for page in ("", "unbox")
    )

    join = bag(packed, "join").name
    assert f"{join}, Parcel 1, Van 1" in job
    assert "1 x locknut M32 in the box of power unit, <strong>small bag under the lid" in job
    for html in (job, unbox):
        assert f'src="/photos/{photo}"' in html
        assert "<strong>small bag under the lid</strong>" in html
        assert "<strong>tied to the handle</strong>" in html
    assert "Travels in: Parcel 1, Van 1" in unbox
    for place in (bag(packed, "join"), bag(packed, "connect")):
        yard.tariq.scan("unbox", place.code, **about(packed))
    assert TIE not in looking_for.travels_of(packed)  # seen: it travels no more
