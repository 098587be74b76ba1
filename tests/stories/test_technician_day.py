"""The technician's day: unboxing, problems, fitting, finishing, on a phone."""

from collections.abc import Iterator
from typing import Any

import pytest

from inventory.models import Finding, Hold, Place, Unit
from kitting.demo import bench_work
from kitting.demo.opening import Opening
from kitting.models import AsBuilt, Kit
from kitting.overviews import walk
from kitting.queries import left_of
from tests.people import picture
from tests.stories import the_firm
from tests.stories.counting_hands import Hands

pytestmark = pytest.mark.django_db
SPARE = "CM26-00188"  # on Van 1 in the fixtures


@pytest.fixture(scope="module")
def van(django_db_setup: None, django_db_blocker: Any) -> Iterator[tuple[Opening, Kit]]:
    """The tower's kit on its van; each test's own changes go again."""
    with django_db_blocker.unblock(), the_firm.scene(stock="CT-") as opened:
        kit = the_firm.release(opened, "tower")
        pack(opened, kit)
        yield opened, kit


def pack(opened: Opening, kit: Kit) -> None:
    """The warehouse picks and loads the kit."""
    bench = opened.hand("wanda")
    bench.subject = kit.subject
    lines = []
    for stop in walk(kit).stops:
        source = stop.source
        text = source.unit.place.code if source.unit else stop.line.item.code
        lines.append(bench.line("pick", text, "keys", quantity=source.quantity))
    opened.take("wanda", *lines)
    texts = [place.code for place in bench_work.parcels(kit)]
    texts += [t.place.code if t.unit else t.item.code for t in bench_work.loose(kit)]
    opened.take("wanda", *(bench.line("load", text, "keys") for text in texts))


def at_the_house(opened: Opening, kit: Kit) -> Hands:
    """Somebody of the crew on the page of their job."""
    hands = Hands(opened.people["tariq"]).begin("/my/")
    hands.follow(f"Open {kit.job.code}")
    return hands.begin(f"/my/{kit.job.code}/")


def own_text(opened: Opening, unit: Unit) -> str:
    """What the label on the thing itself says."""
    return the_firm.serial_code(opened, unit.item.code, unit.serial)


def unbox_all(opened: Opening, kit: Kit, hands: Hands) -> None:
    """One scan for the parcel, each bag, each thing by itself."""
    loose = bench_work.loose(kit)
    for place in bench_work.parcels(kit):
        assert hands.scan(place.code) == "applied", hands.said
    for package in bench_work.bags(kit):
        assert hands.scan(package.place.code) == "applied", hands.said
    for thing in loose:
        number = opened.codes[thing.item.code]
        text = own_text(opened, thing.unit) if thing.unit else f"01{number}"
        assert hands.scan(text) == "applied", hands.said


def test_the_kit_is_seen_again_at_the_house_within_three_minutes(van: tuple[Opening, Kit]) -> None:
    """One touch to begin, one scan a bag or thing, nothing typed."""
    opened, kit = van
    hands = at_the_house(opened, kit)
    hands.follow("Unbox")

    unbox_all(opened, kit, hands)

    assert (hands.touches, hands.typed) == (1, 0)
    assert hands.seconds <= 180
    assert not [thing for thing in left_of(kit) if thing.place.kind in ("carton", "parcel")]


def test_missing_is_sent_in_four_touches(van: tuple[Opening, Kit]) -> None:
    """From the job's page: missing, which bag, not there; its things leave the kit."""
    opened, kit = van
    hands = at_the_house(opened, kit)
    bag = next(package.place for package in bench_work.bags(kit) if package.step == "gland")

    hands.follow("Something is missing")
    hands.unfold()
    verdict = hands.press("Not there: ask the depot for it", near=bag.code)

    assert verdict == "applied"
    assert "the depot is asked for it as Q" in hands.said
    assert hands.touches <= 4
    assert (hands.scans, hands.typed) == (0, 0)
    assert Finding.objects.filter(kind="missing", place=bag, answer=None).exists()
    assert not [thing for thing in left_of(kit) if thing.place == bag]


def test_a_cracked_module_is_set_aside_and_the_van_s_spare_stands_in(
    van: tuple[Opening, Kit],
) -> None:
    """Without a photo nothing happens; with one the module is held and the spare takes over."""
    opened, kit = van
    hands = at_the_house(opened, kit)
    hands.follow("Unbox")
    unbox_all(opened, kit, hands)
    cracked = Unit.objects.filter(place=kit.job.site.place, item__code="CT-MODULE").first()
    hands.begin(f"/my/{kit.job.code}/")
    hands.follow("Unbox")
    hands.follow("Damaged", about=cracked.serial)

    form = hands.page.form_with("Send it")
    assert (form.fields["text"], form.fields["step"]) == (cracked.serial, "damaged")
    assert hands.press("Send it") == "stopped"
    form.fields["photo"] = hands.photograph(picture(), kit.subject)
    assert hands.press("Send it", reason=form.offers["reason"][0]) == "problem", hands.said
    assert hands.typed == 0
    hands.begin(f"/my/{kit.job.code}/unbox")
    assert hands.scan(own_text(opened, Unit.objects.get(serial=SPARE))) == "applied", hands.said

    assert Hold.objects.filter(unit=cracked, release=None).exists()
    assert SPARE in Finding.objects.get(kind="damaged").answer.words


def test_four_units_are_fitted_with_one_touch_and_one_scan_each(van: tuple[Opening, Kit]) -> None:
    """A box's label is not a unit; the place is touched, the thing scanned, its number typed."""
    opened, kit = van
    boxes = list(Place.objects.filter(kind="carton", parent__subject=kit.subject))
    hands = at_the_house(opened, kit)
    hands.follow("Unbox")
    unbox_all(opened, kit, hands)
    loose = Unit.objects.filter(place=kit.job.site.place).select_related("item")
    units = [*loose.filter(item__code="CT-MODULE"), loose.get(item__code="CT-POWER")]
    hands.begin(f"/my/{kit.job.code}/fit")

    hands.choose("position", "1/1")
    assert hands.scan(boxes[0].code) == "stopped"
    for level, unit in enumerate(units, 1):
        hands.choose("position", f"1/{level}")
        hands.write("number", str(level))
        assert hands.scan(own_text(opened, unit)) == "applied", hands.said

    assert AsBuilt.objects.filter(until=None, number__gte=1).count() == len(units)
    assert hands.scans == len(units) + 1
    assert hands.typed == len(units)


def test_a_job_is_finished_and_closed_with_three_touches(van: tuple[Opening, Kit]) -> None:
    """Used as planned, the rest back on the van, closed: nothing of the kit is left."""
    opened, kit = van
    hands = at_the_house(opened, kit)
    hands.follow("Unbox")
    unbox_all(opened, kit, hands)
    hands.begin(f"/my/{kit.job.code}/back")

    assert hands.press("Close the job") == "stopped"
    hands.begin(f"/my/{kit.job.code}/back")
    verdicts = [
        hands.press("Used as planned"),
        hands.press(f"All that is left goes back on {kit.job.van.name}"),
        hands.press("Close the job"),
    ]

    assert verdicts == ["applied", "applied", "applied"]
    assert (hands.scans, hands.touches, hands.typed) == (0, 3, 0)
    assert left_of(kit) == []
    assert Kit.objects.get(pk=kit.pk).closed_by is not None
