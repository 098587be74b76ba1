"""A technician's phone and a manager's desk in a real browser: taps, photos, the drawing."""

import io

import numpy as np
import pytest
import zxingcpp
from PIL import Image
from playwright.sync_api import Page, Route, expect

from inventory import photos
from inventory.labelling import of_place
from inventory.labels.png import png
from inventory.models import Event, Finding, Hold
from kitting import families, handing_over
from kitting.models import AsBuilt, Job, PartRequest
from tests.browser import bench
from tests.browser.bench import Bench, all_sent, saved_or_better, scan
from tests.kitting.yard import TOWER

ROW = TOWER.with_name("row.toml")


@pytest.fixture
def served(live_server) -> Bench:
    return bench.on_its_van(live_server.url)


@pytest.fixture
def phone(page: Page, served: Bench) -> Page:
    served.sign_in(page, "tariq")
    page.goto(f"{served.url}/my/{served.kit.job.code}/")
    return page


def test_missing_takes_three_touches(phone: Page, served: Bench) -> None:
    """Unbox, missing beside the thing, not there: its page is open at it, the depot is asked."""
    phone.get_by_role("link", name="Unbox").click()
    phone.get_by_role("link", name="Missing").first.click()
    phone.get_by_role("button", name="Not there: ask the depot for it").locator(
        "visible=true"
    ).click()
    expect(phone.get_by_text("the depot is asked for it as Q1")).to_be_visible()

    assert PartRequest.objects.get().unit.serial == "S1"
    assert Finding.objects.get(kind="missing").unit.serial == "S1"


def test_damaged_needs_a_photo_and_a_reason(phone: Page, served: Bench) -> None:
    """And a reason, by one touch; without either the page stops, with both it is set aside."""
    phone.get_by_role("link", name="Something is wrong").click()
    phone.get_by_label("Damaged (with a photo)").check()
    phone.get_by_label("Which").fill("S1")
    phone.get_by_role("button", name="Send it").click()
    output = phone.locator("event-form .verdict")
    expect(output).to_have_attribute("data-verdict", "stopped")
    expect(output).to_contain_text("Take a photo of the damage first")
    noise = np.random.default_rng(1).integers(0, 255, (90, 120, 3), dtype=np.uint8)
    stream = io.BytesIO()
    Image.fromarray(noise).save(stream, "JPEG")
    shot = {"name": "a.jpg", "mimeType": "image/jpeg", "buffer": stream.getvalue()}
    phone.get_by_label("Photo", exact=True).set_input_files(files=[shot])
    phone.get_by_role("button", name="Send it").click()
    expect(output).to_contain_text("Touch what one sees first")
    phone.get_by_label("Cracked or broken").check()
    phone.get_by_role("button", name="Send it").click()
    expect(output).to_have_attribute("data-verdict", "problem")

    hold = Hold.objects.get()
    assert (hold.unit.serial, hold.reason) == ("S1", "cracked or broken")
    assert Finding.objects.get(kind="damaged").photo


def test_who_takes_it_over_signs_with_a_finger(phone: Page, served: Bench) -> None:
    """Nothing drawn is stopped, and so is what was wiped; what is drawn is kept, dark on white."""
    phone.goto(f"{phone.url}back")
    form = phone.locator("event-form").filter(has=phone.locator("signature-pad"))
    pad, send = form.locator("canvas"), form.get_by_role("button", name="It is signed")

    def draw() -> None:
        pad.scroll_into_view_if_needed()
        box = pad.bounding_box()
        assert box is not None
        phone.mouse.move(box["x"] + 20, box["y"] + 20)
        phone.mouse.down()
        phone.mouse.move(box["x"] + box["width"] - 20, box["y"] + box["height"] - 20, steps=8)
        phone.mouse.up()
        phone.wait_for_function("() => document.querySelector('signature-pad').file.files.length")

    draw()
    form.get_by_role("button", name="Draw it again").click()
    send.click()
    expect(form.locator(".verdict")).to_contain_text("Let them sign in the box first")
    draw()
    form.get_by_label("Name of who takes it over").fill("Ines Rowan")
    send.click()
    expect(form.locator(".verdict")).to_have_attribute("data-verdict", "applied")
    expect(phone.locator("#signed")).to_contain_text("Ines Rowan")
    all_sent(phone)  # the drawing goes in beside its event

    found = handing_over.signed(served.kit)
    assert found is not None
    assert found.photo is not None
    grey = np.asarray(Image.open(io.BytesIO(photos.bytes_of(found.photo))).convert("L"))
    dark = np.argwhere(grey < 128)
    assert np.median(grey) > 250
    assert dark.min(axis=0).max() < 120  # from corner to corner of 900 x 300
    assert (np.array(grey.shape) - dark.max(axis=0)).max() < 120


def test_a_tap_on_the_drawing_chooses_the_place(phone: Page, served: Bench) -> None:
    """Then the scan fits the unit there, and the drawing ticks it."""
    phone.get_by_role("link", name="Fit").click()
    phone.get_by_role("button", name="I have read this").click()
    phone.locator("[data-position='1/2']").click()
    expect(phone.get_by_label("Stack 1, place 2")).to_be_checked()
    scan(phone, served.yard.label("S1"))
    saved_or_better(phone, "problem")
    expect(phone.locator("[data-position='1/2']")).to_have_class("unit fitted")

    row = AsBuilt.objects.get()
    assert (row.stack, row.level, row.unit.serial) == (1, 2, "S1")


def test_cautions_are_read_once_and_leave_the_pad_its_place(phone: Page, served: Bench) -> None:
    """They lie over the work until they are read; then a line says who did, on this device."""
    phone.get_by_role("link", name="Fit").click()
    fold = phone.locator("read-once details")
    expect(fold).to_have_attribute("open", "")
    below = "document.querySelector('scan-pad').getBoundingClientRect().top"
    covered = phone.evaluate(below)
    phone.get_by_role("button", name="I have read this").click()
    expect(fold).not_to_have_attribute("open", "")
    expect(phone.locator(".read-by")).to_contain_text("read by Tariq")
    assert phone.evaluate(below) - covered < 844 / 4  # what is folded takes a line, no more
    phone.reload()
    expect(fold).not_to_have_attribute("open", "")


def beside(label: bytes, text: str) -> bytes:
    """The picture of a label with another code to its right."""
    left = Image.open(io.BytesIO(label)).convert("L")
    symbol = zxingcpp.create_barcode(text, zxingcpp.BarcodeFormat.DataMatrix)
    right = Image.fromarray(zxingcpp.write_barcode_to_image(symbol, scale=6))
    both = Image.new(
        "L", (left.width + right.width + 200, max(left.height, right.height + 80)), 255
    )
    both.paste(left, (0, 0))
    both.paste(right, (left.width + 100, 40))
    file = io.BytesIO()
    both.save(file, "PNG")
    return file.getvalue()


def test_a_photographed_code_is_a_scan(phone: Page, served: Bench) -> None:
    """The server reads the label on the photo; what is known counts, the rest of it is shown."""
    parcel = served.kit.packages.get(kind="parcel").place
    picture = beside(png(of_place(parcel), 300), "[)>\x1e06\x1d1TL7\x1e\x04")
    phone.get_by_role("link", name="Take the van over").click()
    shot = {"name": "label.png", "mimeType": "image/png", "buffer": picture}
    phone.locator("photo-scan input").set_input_files(files=[shot])
    saved_or_better(phone, "applied")

    event = Event.objects.get(step="load", scan__text=parcel.code)
    assert event.scan.via == "photo"
    expect(phone.locator("photo-scan li")).to_contain_text("batch L7")


def test_one_tap_takes_all_that_a_photo_shows_each_once(page: Page, served: Bench) -> None:
    """Framed on the photo; pressed twice it is sent once, and each line says what came of it."""
    served.sign_in(page, "wanda")
    parcel = served.kit.packages.get(kind="parcel").place
    to = served.yard.firm.bins[1]
    page.goto(f"{served.url}/shelf-photo/?at={to.code}")
    shot = {"name": "l.png", "mimeType": "image/png", "buffer": png(of_place(parcel), 300)}
    page.locator("input[name=photo]").set_input_files(files=[shot])
    page.get_by_role("button", name="Read the labels").click()
    expect(page.locator(".labels-photo .others rect")).to_have_count(1)
    page.get_by_role("button", name="These are here now (1)").dblclick()
    expect(page.locator("confirm-all .came")).to_have_text("Done")

    event = Event.objects.get(step="put")
    assert (event.scan.text, event.scan.via) == (parcel.code, "photo")
    parcel.refresh_from_db()
    assert parcel.parent_id == to.pk


def test_the_questions_follow_the_answers(page: Page, served: Bench) -> None:
    """An answer brings the questions that follow from it without a new page, strict policy kept."""
    served.sign_in(page, "mona")
    page.goto(f"{served.url}/jobs/new")
    page.get_by_label("Name of a new site").fill("Rowan House")
    page.get_by_role("radio", name="Corbel Tower").check()
    expect(page.get_by_text("Does the tower stand on")).to_be_visible()
    page.get_by_role("button", name="One more stack").click()
    expect(page.locator("[name=about_gap]")).to_be_visible()

    assert page.get_by_label("Name of a new site").input_value() == "Rowan House"
    assert Job.objects.count() == 1


def test_what_is_typed_outlives_the_swap_of_the_questions(page: Page, served: Bench) -> None:
    """Another system brings its own questions late; what was typed on meanwhile stands in them."""
    families.load(ROW.read_text(encoding="utf-8"), ROW.name)
    served.sign_in(page, "mona")
    page.goto(f"{served.url}/jobs/new")
    page.get_by_role("radio", name="Corbel Tower").check()
    run = page.locator("[name=about_data_run]")
    run.fill("4.2")
    expect(page.locator("#says-about_data_run")).to_contain_text("read as 4.2 m")
    held: list[Route] = []
    page.route("**/jobs/new", lambda it: it.continue_() if held else held.append(it))
    with page.expect_request("**/jobs/new"):
        page.get_by_role("radio", name="Lintel Row").check()
    run.press("End")
    page.keyboard.type("5 m")
    page.get_by_label("Name of a new site").fill("Rowan House")
    held[0].continue_()
    expect(page.locator("[name=about_mains_run]")).to_be_visible()
    expect(page.locator("#says-about_data_run")).to_contain_text("read as 4.25 m")

    assert run.input_value() == "4.25 m"
    assert page.get_by_label("Name of a new site").input_value() == "Rowan House"


def test_a_line_says_why(page: Page, served: Bench) -> None:
    """One tap opens the arithmetic behind a number."""
    served.sign_in(page, "mona")
    page.goto(f"{served.url}/jobs/{served.kit.job.code}/")
    page.get_by_text("Why 2?").first.click()

    expect(page.locator("details.why[open] li").first).to_contain_text("2")
