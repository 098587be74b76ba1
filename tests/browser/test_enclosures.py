"""A photo taken without signal: small, without what its camera noted, and it holds up nothing."""

from __future__ import annotations

import io
import json

import pytest
from PIL import Image
from playwright.sync_api import Page, Request, Route, expect

from inventory import photos
from inventory.models import Event, Finding, Photo, SentPhoto
from tests.browser.bench import Bench, all_sent, served
from tests.browser.offline_day import MAKER, picture
from tests.kitting.yard import about

SLOW = 30_000  # ms that a picture may take on a busy machine


@pytest.fixture
def firm(live_server) -> Bench:
    """One module of Tariq's job is on its van."""
    found = served(live_server.url)
    found.yard.box("S1")
    for step in ("pick", "load"):
        found.yard.wanda.scan(step, "BOX-S1", **about(found.kit))
    return found


def tell_of_damage(page: Page, shot: bytes) -> None:
    page.get_by_label("Damaged (with a photo)").check()
    page.get_by_label("Which").fill("S1")
    page.locator("input[type=radio][name=reason]").first.check()
    file = {"name": "a.jpg", "mimeType": "image/jpeg", "buffer": shot}
    page.get_by_label("Photo", exact=True).set_input_files(files=[file])
    page.get_by_role("button", name="Send it").click()


def test_a_photo_waits_and_holds_up_nothing(unwatched: Page, firm: Bench, settings) -> None:
    """Kept with its event, sent after it in pieces that go on where they stopped; one photo.

    Where the firm asks for it, the event says when and where it was taken; the photo does not.
    """
    settings.PHOTO_PLACE = True
    page, sent = unwatched, []
    page.context.grant_permissions(["geolocation"])
    page.context.set_geolocation({"latitude": 52.5, "longitude": 13.4, "accuracy": 19.2})
    firm.sign_in(page, "tariq")
    page.goto(f"{firm.url}/my/{firm.kit.job.code}/problem")
    badge = page.locator("unsent-badge summary span")
    expect(badge).to_have_text("All sent")
    page.context.set_offline(True)
    tell_of_damage(page, picture(1))
    said = page.locator("event-form .verdict").first
    expect(said).to_have_attribute("data-verdict", "saved", timeout=SLOW)
    expect(badge).to_have_text("1 not sent, 1 photo not sent")

    def third_is_lost(route: Route, request: Request) -> None:
        sent.append(request.post_data_buffer or b"")
        route.abort() if len(sent) == 3 else route.continue_()

    page.route("**/api/photos/*", third_is_lost)
    page.context.set_offline(False)
    all_sent(page, 2 * SLOW)

    line = json.loads(Event.objects.get(step="damaged").line)
    assert line["spot"] == "geo:52.500000,13.400000;u=20"
    assert line["taken"] <= line["at"]
    photo = Photo.objects.get()
    assert SentPhoto.objects.get().sha256 == line["photo"] != photo.sha256
    assert Finding.objects.get(kind="damaged").photo == line["photo"]
    assert photo.subject == firm.kit.subject
    assert len(sent) > 3
    assert MAKER.encode() in picture(1)
    assert MAKER.encode() not in b"".join(sent)
    assert sum(map(len, sent)) <= 400_000 + len(sent[2])
    assert max(Image.open(io.BytesIO(photos.bytes_of(photo))).size) == 1600


def test_a_file_that_is_no_picture_is_told_at_once(unwatched: Page, firm: Bench) -> None:
    """Nothing of it is kept."""
    page = unwatched
    firm.sign_in(page, "tariq")
    page.goto(f"{firm.url}/my/{firm.kit.job.code}/problem")
    tell_of_damage(page, b"no picture")
    said = page.locator("event-form .verdict").first
    words = "This file is no picture that this phone can read."
    expect(said).to_contain_text(words, timeout=SLOW)
    expect(page.locator("unsent-badge summary span")).to_have_text("All sent")
    assert not Event.objects.filter(step="damaged").exists()
