"""The warehouse's day: a delivery comes in, a kit is picked and loaded."""

import io
from collections.abc import Iterator
from typing import Any

import numpy as np
import pytest
from PIL import Image

from inventory import deliveries, serial_lists
from inventory.arrivals import door
from inventory.codes import own
from inventory.models import Event, Photo, Unit
from kitting.demo.opening import Opening
from kitting.overviews import walk
from kitting.progress import fold
from kitting.queries import left_of
from tests.people import picture
from tests.pictures import hostile, walls
from tests.stories import the_firm
from tests.stories.counting_hands import Hands

pytestmark = pytest.mark.django_db
CARTONS = 24
LISTED, SHOWN = 12, 9  # boxes on a supplier's file, and of those on a photo


@pytest.fixture(scope="module")
def opened(django_db_setup: None, django_db_blocker: Any) -> Iterator[Opening]:
    """The firm with the tower's stock in its bins; each test's own changes go again."""
    with django_db_blocker.unblock(), the_firm.scene(stock="CT-") as found:
        yield found


def test_twenty_four_cartons_are_received_within_two_minutes(opened: Opening) -> None:
    """Two scans a carton, the box and the serial beside it; two touches, nothing typed."""
    hands = Hands(opened.people["wanda"]).begin("/kits/")
    hands.follow("Goods in")
    hands.choose("pairs", "yes")

    for number in range(CARTONS):
        hands.scan(own.make("carton", 500 + number))
        serial = the_firm.serial_code(opened, "CT-MODULE", f"CM27-{number:05}")
        assert hands.scan(serial) == "applied", hands.said

    assert (hands.scans, hands.touches, hands.typed) == (2 * CARTONS, 2, 0)
    assert hands.seconds <= 120
    arrived = Unit.objects.filter(serial__startswith="CM27", place__kind="carton")
    assert arrived.count() == CARTONS


def test_a_delivery_is_counted_told_and_scanned_in_within_two_minutes(opened: Opening) -> None:
    """The count, two photos and the slip while the driver waits; the boxes when he has gone."""
    supplier = deliveries.enter_partner(code="north", name="North Store", kind="supplier")
    wanda, dock = opened.people["wanda"], opened.places[opened.firm.dock]
    made = deliveries.enter(
        wanda, note="LS-1", supplier=supplier, carrier=None, dock=dock, boxes=CARTONS
    )
    hands = Hands(wanda).begin("/kits/")
    hands.follow("Deliveries")
    hands.follow(made.code)
    assert hands.fill("Count them", quantity=str(CARTONS)) == "applied"
    for side in range(2):
        photo = hands.photograph(picture(300 + side), made.subject)
        assert hands.sent_at_once("pallet_photo", photo=photo) == "applied"
    assert hands.press("The slip is signed, the driver goes") == "applied"
    at_the_door = hands.seconds
    assert at_the_door <= 20

    for number in range(CARTONS):
        hands.scan(own.make("carton", 700 + number))
        hands.scan(the_firm.serial_code(opened, "CT-MODULE", f"CN27-{number:05}"))

    assert (hands.scans, hands.touches, hands.typed) == (2 * CARTONS, 9, 2)
    assert hands.seconds <= 120
    arrived = Unit.objects.filter(serial__startswith="CN27", place__kind="carton")
    assert (arrived.count(), door(made).to_scan) == (CARTONS, 0)


def test_boxes_are_put_away_with_one_scan_each(opened: Opening) -> None:
    """One scan for the bin, one for each box."""
    hands = Hands(opened.people["wanda"]).begin("/goods-in/")
    hands.choose("pairs", "yes")
    boxes = [own.make("carton", 500 + number) for number in range(4)]
    for number, box in enumerate(boxes):
        hands.scan(box)
        hands.scan(the_firm.serial_code(opened, "CT-MODULE", f"CM27-{number:05}"))
    hands.begin("/put-away/")

    hands.scan(opened.places["A1"].code)
    verdicts = [hands.scan(box) for box in boxes]

    assert verdicts == ["applied"] * 4
    assert (hands.scans, hands.touches, hands.typed) == (5, 0, 0)
    arrived = Unit.objects.filter(serial__startswith="CM27")
    assert set(arrived.values_list("place__parent__name", flat=True)) == {"Bin A1"}


def scanned_text(opened: Opening, stop) -> str:
    """What is on the box, batch or bin of one stop of the walk."""
    unit, lot = stop.source.unit, stop.source.lot
    if unit is not None:
        return unit.place.code
    code = f"01{opened.codes[stop.line.item.code]}"
    return f"{code}10{lot.number}" if lot.number else code


def test_a_kit_is_picked_in_the_order_of_its_page_and_loaded_with_one_scan_a_piece(
    opened: Opening,
) -> None:
    """A box costs one scan to pick and one to load, all bags together one; no code is typed."""
    kit = the_firm.release(opened, "tower")
    hands = Hands(opened.people["wanda"]).begin(f"/kits/{kit.code}/pick")
    stops = walk(kit).stops
    boxes = [stop for stop in stops if stop.source.unit is not None]
    for stop in stops:
        if stop.source.unit is None:
            hands.write("quantity", str(stop.source.quantity))
        assert hands.scan(scanned_text(opened, stop)) == "applied", hands.said
    assert fold(kit).all_picked
    assert len(stops) == hands.scans
    assert len(stops) - len(boxes) == hands.touches  # how many, for what is not one box

    hands.begin(f"/kits/{kit.code}/load")
    bays = [thing for thing in left_of(kit) if thing.place.kind != "bag"]
    parcel = kit.packages.get(kind="parcel").place
    for text in (parcel.code, *(loaded_text(opened, thing) for thing in bays)):
        assert hands.scan(text) == "applied", hands.said

    assert fold(kit).all_loaded
    assert (1 + len(bays), 0, 0) == (hands.scans, hands.touches, hands.typed)
    assert len(left_of(kit)) > 3 * hands.scans  # most things ride along in the parcel


def loaded_text(opened: Opening, thing) -> str:
    """What is on a box, or on a long thing, in the bay."""
    return thing.place.code if thing.unit else f"01{opened.codes[thing.item.code]}"


def test_a_parcel_of_another_kit_is_named_to_the_warehouse(opened: Opening) -> None:
    """Two claims: nothing moves, the office decides, and the sentence says whose it is."""
    mine, other = the_firm.release(opened, "tower"), the_firm.release(opened, "expansion")
    hands = Hands(opened.people["wanda"]).begin(f"/kits/{mine.code}/load")
    foreign = other.packages.get(kind="parcel").place

    assert hands.scan(foreign.code) == "dispute"
    assert other.code in hands.said
    foreign.refresh_from_db()
    assert foreign.parent.kind == "dock"


def boxes() -> list[str]:
    """Codes of the delivery's boxes."""
    return [own.make("carton", 900 + number) for number in range(LISTED)]


def photo_of(*texts: str, spoilt: int | None = None) -> bytes:
    """A wall of labels through a phone, with the phone's own words in the file.

    spoilt: the label of which pieces are exchanged, so that no decoder reads it.
    """
    seen = walls.wall(12, "mid", 21, size=(2000, 1500), texts=texts)
    picture = np.array(Image.open(io.BytesIO(seen.jpeg)))
    if spoilt is not None:
        x, y, width, height = seen.boxes[spoilt]
        label = picture[y + height // 4 : y + height * 3 // 4, x + width // 4 : x + width * 3 // 4]
        label[:] = label[::-1, ::-1].copy()
    exif = Image.Exif()
    exif[0x010E] = "THUMBNAIL-MARK"
    exif.get_ifd(0x8825)[1] = "N"
    return hostile.saved(Image.fromarray(picture), "JPEG", quality=90, exif=exif)


def test_a_pallet_is_received_with_one_photo_and_one_tap(opened: Opening) -> None:
    """Nine of twelve boxes stand on the photo; three are left to scan, alike ones not counted."""
    wanda, dock = opened.people["wanda"], opened.places[opened.firm.dock]
    supplier = deliveries.enter_partner(code="north", name="North Store", kind="supplier")
    made = deliveries.enter(
        wanda, note="LS-7", supplier=supplier, carrier=None, dock=dock, boxes=LISTED
    )
    lines = "\n".join(f"CT-MODULE;CP27-{n:05};{box}" for n, box in enumerate(boxes()))
    deliveries.enter_list(made, serial_lists.judge(lines).rows)
    article = opened.codes["CT-BOLT6"]
    shelf = opened.places["A1"].code
    texts = (*boxes()[:SHOWN], article, article, shelf)
    hands = Hands(wanda).begin(f"/deliveries/{made.code}/")
    hands.follow("Many at once")
    here = f"/deliveries/{made.code}/photo"
    assert len(hands.page.lines_of("singly")) == LISTED

    hands.read_photo(here, photo_of(*texts))

    assert f"{SHOWN} of {LISTED} found" in hands.page.words
    assert sorted(hands.page.confirms[0].texts) == sorted(boxes()[:SHOWN])
    assert all(box in hands.page.part("singly") for box in boxes()[SHOWN:])
    assert not any(box in hands.page.part("singly") for box in boxes()[:SHOWN])
    assert "cannot be counted from a photo" in hands.page.words
    assert "Bin A1" not in hands.page.words  # the sign of a shelf is no thing that came
    kept = Photo.objects.get(subject=made.subject)
    stored = hands.client.get(f"/photos/{kept.sha256}")
    assert stored["Content-Type"] == "image/jpeg"
    assert not any(mark in stored.content for mark in hostile.MARKS)
    assert hands.client.get(here).status_code == 200

    assert hands.confirm("Receive all that were found") == ["applied"] * SHOWN
    assert (hands.scans, hands.touches, hands.typed) == (0, 5, 0)

    arrived = Unit.objects.filter(serial__startswith="CP27")
    assert set(arrived.values_list("place__code", flat=True)) == set(boxes()[:SHOWN])
    assert set(arrived.values_list("evidence", flat=True)) == {"listed"}
    assert set(Event.objects.filter(step="receive").values_list("scan__via", flat=True)) >= {
        "photo"
    }
    assert hands.confirm("Receive all that were found") == ["noted"] * SHOWN  # tapped again
    assert arrived.count() == SHOWN

    hands.begin(here)
    assert len(hands.page.lines_of("singly")) == LISTED - SHOWN
    verdicts = [hands.scan(box) for box in boxes()[SHOWN:]]
    assert verdicts == ["applied"] * (LISTED - SHOWN)

    # The same boxes go to a bin: the book has them at the dock, a photo of the shelf moves them.
    hands.begin("/put-away/")
    hands.follow("Many at once")
    hands.read_photo("/shelf-photo/", photo_of(*texts), at=shelf)
    assert "Not expected here" in hands.page.words
    assert hands.confirm("These are here now") == ["applied"] * SHOWN
    hands.read_photo("/shelf-photo/", photo_of(*texts[:SHOWN], spoilt=SHOWN - 1), at=shelf)
    assert boxes()[SHOWN - 1] in hands.page.part("singly")
    assert "Seen, not read: scan this one" in hands.page.words
    assert hands.confirm("All that were found are here") == ["noted"] * (SHOWN - 1)
    assert set(arrived.values_list("place__parent__name", flat=True)) == {"Bin A1", dock.name}


def test_without_a_serial_file_nothing_says_what_the_labels_should_be(opened: Opening) -> None:
    """The page says so and takes no photo; a file that is no photo is told what it is."""
    wanda, dock = opened.people["wanda"], opened.places[opened.firm.dock]
    supplier = deliveries.enter_partner(code="south", name="South Store", kind="supplier")
    made = deliveries.enter(wanda, note="LS-8", supplier=supplier, carrier=None, dock=dock, boxes=1)
    hands = Hands(wanda).begin(f"/deliveries/{made.code}/photo")
    assert "There is no serial file of this delivery yet" in hands.page.words
    assert hands.page.pad is None

    hands.read_photo("/shelf-photo/", b"I am no photo", at=opened.places["A1"].code)
    assert "expected a JPEG, PNG or WebP picture, got plain text" in hands.page.words
    assert not Photo.objects.exists()
