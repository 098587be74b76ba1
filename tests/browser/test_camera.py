"""The live camera, in a real browser before a film of our own labels (tests/browser/footage.py).

The site is served as `make serve` does it, so that page, worker and decoder come with the content
policy they have there; the camera is chromium's own fake device, nothing of the page is replaced.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

import pytest
from django.conf import settings
from django.core.management import call_command
from django.db import connection
from django.test import override_settings
from playwright.sync_api import Browser, Page, Response, expect

from inventory import labelling
from inventory.models import Item, ItemCode, Person, Scan
from kitting.security import CONTENT_POLICY, DECODER_POLICY
from tests.bench.serving import cookie
from tests.browser import bench, footage
from tests.browser.bench import Bench, saved_or_better
from tests.browser.chromium import FLAGS, executable
from tests.browser.conftest import PHONE
from tests.browser.footage import Shot
from tests.screens import served

IN_VIEW = 1000  # ms from a label's first frame to its scan (issue "Reading every code on the box")
NOTHING = 5000  # ms before a shelf without a label
GTINS = {"CT-BRACKET": "09521234000099", "CT-CLAMP-L": "09521234000105"}
# Notes when a label comes into view (see footage.TAG) and what is heard, in ms of the page's clock.
WATCH = """() => {
    const video = document.querySelector("live-camera video");
    const pencil = new OffscreenCanvas(1, 1).getContext("2d", { willReadFrequently: true });
    let before = false;
    Object.assign(window, { comes: [], heard: [], video });
    const hear = ({ detail: { text, via } }) => heard.push({ text, via, at: performance.now() });
    document.addEventListener("scan", hear);
    const look = () => {
        pencil.drawImage(video, 8, video.videoHeight - 40, 32, 32, 0, 0, 1, 1);
        const inView = pencil.getImageData(0, 0, 1, 1).data[0] > 127;
        if (inView && !before) comes.push(performance.now());
        before = inView;
        video.requestVideoFrameCallback(look);
    };
    video.requestVideoFrameCallback(look);
}"""
NATIVE = "() => Function.prototype.toString.call(navigator.mediaDevices.getUserMedia)"
HIDE = """() => {
    Object.defineProperty(document, "hidden", { value: true });
    document.dispatchEvent(new Event("visibilitychange"));
}"""

pytestmark = bench.needs_decoder


@dataclass
class Filmed:
    """A page in front of a film, and everything it asked for."""

    page: Page
    policies: dict[str, str] = field(default_factory=dict)  # path -> content policy it came with
    asked: set[str] = field(default_factory=set)  # hosts
    said: list[str] = field(default_factory=list)  # errors on the console

    def note(self, answer: Response) -> None:
        """The policy that a file came with, by its address without the hash."""
        name = re.sub(r"\.[0-9a-f]{12}", "", urlsplit(answer.url).path)
        self.policies[name] = answer.headers.get("content-security-policy", "")


@pytest.fixture
def at_bench(
    transactional_db: None, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> Iterator[Bench]:
    """A firm with one kit to pick, served by gunicorn from collected files."""
    monkeypatch.setenv("DJANGO_ALLOW_ASYNC_UNSAFE", "1")
    with override_settings(
        STATIC_ROOT=tmp_path / "static", WHITENOISE_SKIP_COMPRESS_EXTENSIONS=["js", "css", "wasm"]
    ):
        call_command("collectstatic", interactive=False, verbosity=0)
    monkeypatch.setenv("DATABASE_URL", f"sqlite:///{connection.settings_dict['NAME']}")
    monkeypatch.setenv("LASTBOLT_STATIC", str(tmp_path / "static"))
    monkeypatch.setenv("LASTBOLT_MEDIA", str(tmp_path / "media"))
    monkeypatch.setenv("LASTBOLT_SECRET_KEY", settings.SECRET_KEY)
    made = bench.served("")
    with served(tmp_path / "server.log") as made.url:
        yield made


@contextmanager
def filmed(chromium: Browser, at: Bench, film: Path | None) -> Iterator[Filmed]:
    """The pick page before wanda, where the camera shows the film, or there is no camera."""
    camera = [f"--use-file-for-fake-video-capture={film}"]
    flags = FLAGS + camera if film else [one for one in FLAGS if "fake-device" not in one]
    # No name but this machine's is found, whoever asks.
    alone = "--host-resolver-rules=MAP * ~NOTFOUND, EXCLUDE 127.0.0.1, EXCLUDE localhost"
    browser = chromium.browser_type.launch(executable_path=executable(), args=[*flags, alone])
    context = browser.new_context(viewport=PHONE)
    name, value = cookie(Person.objects.get(username="wanda")).split("=")
    context.add_cookies([{"name": name, "value": value, "url": at.url}])
    seen = Filmed(context.new_page())
    context.on("request", lambda asked: seen.asked.add(asked.url.split("/")[2]))
    context.on("response", seen.note)
    seen.page.on("console", lambda m: seen.said.append(m.text) if m.type == "error" else None)
    seen.page.goto(f"{at.url}/kits/{at.kit.code}/pick")
    yield seen
    browser.close()
    assert seen.asked == {at.url.removeprefix("http://")}
    assert seen.said == []


def opened(seen: Filmed) -> None:
    """Press Camera; the shots are counted from their first frame."""
    assert "[native code]" in seen.page.evaluate(NATIVE)
    seen.page.evaluate(WATCH)
    seen.page.get_by_role("button", name="Camera").click()


def heard(page: Page, count: int) -> list[dict[str, Any]]:
    """Wait until the page heard so many scans; all that it heard: text, via and at (ms)."""
    for _ in range(600):
        said: list[dict[str, Any]] = page.evaluate("() => heard")
        if len(said) >= count:
            return said
        page.wait_for_timeout(50)
    raise AssertionError(f"expected {count} scans, heard {said}")


@pytest.fixture
def labels(at_bench: Bench) -> dict[str, Any]:
    """Printed labels of three things that the kit takes, and of a bag of somebody else's kit."""
    for code, gtin in GTINS.items():
        item = Item.objects.get(code=code)
        ItemCode.objects.create(item=item, text=gtin, key=gtin)
    bracket, clamp = (labelling.of_item(Item.objects.get(code=code)) for code in GTINS)
    unit = at_bench.yard.box("SN0001")
    other = at_bench.yard.kit(at_bench.yard.job(crew=at_bench.yard.tove))
    bag = other.packages.filter(kind="bag").first()
    return {
        "Code 128": bracket,
        "QR": replace(clamp, matrix="qr"),
        "Data Matrix": labelling.of_unit(unit),
        "another kit's": labelling.of_place(bag.place),
    }


def test_a_label_before_the_camera_is_a_scan(
    chromium: Browser, at_bench: Bench, labels: dict[str, Any], tmp_path: Path
) -> None:
    """Five seconds of a shelf without a label give nothing. Then Code 128, QR and Data Matrix, the
    other code of the label under a thumb: each is one scan, within a second of coming into view, by
    the way that a hand scanner's go. A label of another kit gives its outcome; what comes before
    it after that counts only once the stop was seen."""
    thumbs = {"Code 128": "square", "QR": "lines", "Data Matrix": "lines", "another kit's": ""}
    texts = [labels[kind].joined("") or labels[kind].code for kind in thumbs]
    shots = [Shot(NOTHING / 1000 + 1.5)]
    for kind, thumb in thumbs.items():
        shots += [Shot(1.3, labels[kind], thumb), Shot(0.5)]
    readable = [footage.codes_of(shot) for shot in shots if shot.label]
    shots += [Shot(1.7), Shot(1.3, labels["Code 128"])] * 2
    film = footage.film(tmp_path / "labels.mjpeg", shots)
    with filmed(chromium, at_bench, film) as seen:
        opened(seen)
        seen.page.wait_for_timeout(NOTHING)
        quiet = heard(seen.page, 0), seen.page.evaluate("() => comes"), at_bench.scans("pick")
        passes = seen.page.evaluate("() => document.querySelector('live-camera').passes")
        scans = heard(seen.page, len(texts))
        saved_or_better(seen.page, "dispute")
        said = seen.page.locator("scan-pad > .verdict span").inner_text()
        waits = [
            scan["at"] - came
            for scan, came in zip(scans, seen.page.evaluate("() => comes"), strict=True)
        ]
        heard(seen.page, len(texts) + 1)
        unseen = at_bench.scans("pick")
        seen.page.get_by_role("button", name="Seen").click()
        heard(seen.page, len(texts) + 2)
        saved_or_better(seen.page, "applied")
        closed_when_hidden(seen.page)
    film.unlink()

    assert readable == [{"Code 128"}, {"QR Code"}, {"Data Matrix"}, {"Code 128", "Data Matrix"}]
    assert min(footage.TILT - 8, footage.BLUR - 1, footage.NOISE - 6) >= 0
    assert quiet == ([], [], [])
    assert passes > 20
    assert [(scan["text"], scan["via"]) for scan in scans] == [(text, "symbol") for text in texts]
    assert max(waits) <= IN_VIEW, waits
    assert unseen == texts
    assert at_bench.scans("pick") == [*texts, texts[0]]
    assert {scan.via for scan in Scan.objects.filter(event__step="pick")} == {"symbol"}
    assert said == (
        "This belongs to J1002-1. Set it aside for that kit. The office decides. "
        "Nothing counts until it is seen: scan Seen, or touch it."
    )
    assert seen.policies.pop("/static/inventory/decoder/zxing_reader.wasm") == DECODER_POLICY
    assert seen.policies.pop("/static/inventory/decoder/reader.js") == DECODER_POLICY
    assert seen.policies.pop("/static/inventory/decoder/decoding.js") == DECODER_POLICY
    assert set(seen.policies.values()) == {CONTENT_POLICY}


def closed_when_hidden(page: Page) -> None:
    """The light beside the lens goes out with the page. A chromium without a screen hides none, so
    this page is told that it is hidden."""
    page.evaluate("() => { window.track = video.srcObject.getTracks()[0]; }")
    assert page.evaluate("() => track.readyState") == "live"
    page.evaluate(HIDE)
    assert page.evaluate("() => [track.readyState, video.srcObject]") == ["ended", None]
    expect(page.get_by_role("button", name="Camera")).to_be_visible()


def test_without_a_camera_a_photo_is_offered(chromium: Browser, live_server: Any) -> None:
    """A desk that has none, asked for it, says so and what to do; the photo stays as it was."""
    at = bench.served(live_server.url)
    with filmed(chromium, at, None) as seen:
        seen.page.get_by_role("button", name="Camera").click()
        saved_or_better(seen.page, "refused")
        said = seen.page.locator("scan-pad > .verdict span").inner_text()
        photo = seen.page.locator("photo-scan").inner_text()

    assert said == "There is no camera here. Photograph the code instead, or type it."
    assert photo == "Photo of a code"
