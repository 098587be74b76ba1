"""A technician's day without signal, with everything that goes wrong on one: phones killed, answers
lost, a phone put back from an old copy, its clock wrong, a mate's phone on the same kit."""

from __future__ import annotations

import io
import json
import shutil
from collections import Counter
from dataclasses import dataclass, field
from datetime import timedelta
from pathlib import Path

import numpy as np
from PIL import Image
from playwright.sync_api import Browser, Error, Route, expect

from inventory.models import Event, Finding
from tests.browser.bench import Bench
from tests.browser.handset import MORNING, PATIENCE, Entered, Handset
from tests.browser.relay import DROP, Relay
from tests.counts import counts

# Scans with signal, before the first death, after it, on the phone put back, on the mate's.
ONLINE, BEFORE, AFTER, PUT_BACK, MATE = counts(2, 20), *counts((10, 12, 3, 3), (90, 90, 40, 60))
MODULES = 4
PHOTOS = counts(2, 20)
LATE_BATCH = counts(1, 4)  # the second death comes at this answer to a batch
MAKER = "An invented camera"
FORGOTTEN = 3  # scans of the control
POSTS = 'const reply = await post(address, body, "application/x-ndjson");'
FORGETS = "await store.answer(batch.map(({ id }) => ({ id, verdict: 'applied', sentence: '' })));"
LEFT_BEHIND = ("Code Cache", "GPUCache", "GraphiteDawnCache", "DawnWebGPUCache", "Singleton*")
FITS = (("S1", "1/2"), ("S2", "1/3"))
THE_MATES = ("S1", "1/4")  # the same serial as standing at another place


@dataclass
class Day:
    """The firm and its phones; `phones` gather what people entered."""

    chromium: Browser
    bench: Bench
    lines: tuple[Relay, Relay]  # of the phone that has a hard day, of the mate's
    folder: Path
    phones: list[Handset] = field(default_factory=list)
    kills: int = 0
    told: int = 0  # answers that were not what a phone had said, shown to its person
    left: int = 0  # rows that the phones still had to send when they were put down
    put_back: bool = False  # whether a phone gave out numbers that it had given before

    @property
    def code(self) -> str:
        return self.bench.kit.job.code

    def phone(self, number: int, line: Relay, profile: str = "") -> Handset:
        folder = self.folder / profile if profile else None
        clock = MORNING + timedelta(milliseconds=number)  # whose phone it was shows by the time
        self.phones.append(Handset(self.chromium, line, number, folder, clock))
        return self.phones[-1]

    def sign_in(self, phone: Handset, name: str) -> None:
        """As a person does, where the browser does not know any more who it was."""
        phone.open("/my/")
        if "sign-in" in phone.page.url:
            Bench(phone.site, self.bench.yard, self.bench.kit).sign_in(phone.page, name)
            phone.open("/my/")

    def ready(self, phone: Handset, name: str) -> None:
        self.sign_in(phone, name)
        expect(phone.page.locator("ready-line[data-ready]")).to_have_count(1, timeout=PATIENCE)

    def unboxes(self, phone: Handset, count: int) -> None:
        """Labels of the modules, small parts, and codes that nobody knows, in turn."""
        labels = [self.bench.yard.label(f"S{number}") for number in range(1, MODULES + 1)]
        for _ in range(count):
            turn = len(phone.entered)
            phone.scan([*labels, "CT-CLAMP-L", f"NEVER-SEEN-{turn}", "CT-BRACKET"][turn % 7])

    def fits(self, phone: Handset, *fits: tuple[str, str]) -> None:
        phone.open(f"/my/{self.code}/fit")
        read = phone.page.get_by_role("button", name="I have read this")
        if read.is_visible():
            read.click()
        for serial, place in fits:
            phone.page.locator(f"input[name=position][value='{place}']").check(force=True)
            phone.scan(self.bench.yard.label(serial))

    def photographs(self, phone: Handset) -> None:
        """Pictures larger than a phone sends, each another, with what a camera notes in them."""
        phone.open(f"/my/{self.code}/problem")
        for number in range(PHOTOS):
            phone.photographs(f"{number}.jpg", picture(number), "CT-CLAMP-L")

    def run(self) -> None:
        """All of it, one phone sending after the other: the same day always ends the same."""
        first, mate = self.phone(1, self.lines[0], "profile"), self.phone(2, self.lines[1])
        self._morning(first, mate)
        self._dies_without_signal(first)
        self._dies_sending(first)
        self._is_put_back(first)
        self._mate_sends(mate)

    def _morning(self, first: Handset, mate: Handset) -> None:
        mate.start()
        self.ready(mate, "tove")
        mate.signal(False)
        first.start()
        self.ready(first, "tariq")
        first.open(f"/my/{self.code}/unbox")
        self.unboxes(first, ONLINE)
        first.sent()

    def _dies_without_signal(self, phone: Handset) -> None:
        phone.signal(False)
        phone.open(f"/my/{self.code}/unbox")
        self.unboxes(phone, BEFORE)
        phone.kill()
        phone.gone()
        self.kills += 1
        ignore = shutil.ignore_patterns(*LEFT_BEHIND)
        shutil.copytree(self.folder / "profile", self.folder / "old", symlinks=True, ignore=ignore)

    def _dies_sending(self, phone: Handset) -> None:
        """More scans, then signal: the server has taken a batch, and the phone dies unanswered."""
        phone.start(offline=True)
        phone.open(f"/my/{self.code}/unbox")
        phone.waits(BEFORE)
        self.unboxes(phone, AFTER)
        self.fits(phone, *FITS)
        self.photographs(phone)
        phone.waits(BEFORE + AFTER + len(FITS) + PHOTOS)
        line = self.lines[0]
        line.after = lambda count: phone.kill() if count == LATE_BATCH else None
        line.bad = True
        phone.signal(True)
        try:
            self.sign_in(phone, "tariq")
            for _ in range(600):  # it sends by itself, and is dead in the middle of it
                phone.page.wait_for_timeout(100)
        except Error:
            phone.gone()
        line.after = lambda count: None
        self.kills += 1
        phone.start()
        self.sign_in(phone, "tariq")
        phone.sent()
        self.told += self._otherwise(phone)
        self._put_down(phone)

    def _is_put_back(self, first: Handset) -> None:
        """The copy of the profile knows neither what came after it nor that all was answered."""
        phone = self.phone(3, self.lines[0], "old")
        phone.clock += first.clock - MORNING
        phone.start(offline=True)
        phone.open(f"/my/{self.code}/unbox")
        phone.waits(BEFORE)
        self.unboxes(phone, PUT_BACK)
        phone.signal(True)
        self.sign_in(phone, "tariq")
        phone.sent()
        self.put_back = Finding.objects.filter(kind=Finding.Kind.DEVICE).exists()
        self._put_down(phone)

    def _mate_sends(self, phone: Handset) -> None:
        phone.open(f"/my/{self.code}/unbox")
        self.unboxes(phone, MATE)
        self.fits(phone, THE_MATES)
        self.lines[1].bad = True
        phone.signal(True)
        phone.sent()
        self.told += self._otherwise(phone)
        told = phone.page.locator("record-says li", has_text="S1 stands at place 2 of stack 1")
        expect(told).to_have_count(1)
        self._put_down(phone)

    def forgets(self) -> int:
        """A phone that forgets before it is answered: how many scans the server never got."""
        line = self.lines[1]
        phone = self.phone(4, line)
        phone.start(service_workers="block")  # one would give the page the file it keeps

        def faulty(route: Route) -> None:
            text = route.fetch().text()
            assert POSTS in text
            route.fulfill(body=text.replace(POSTS, FORGETS + POSTS), content_type="text/javascript")

        phone.context.route("**/inventory/sending.js", faulty)
        self.sign_in(phone, "tariq")
        phone.open(f"/my/{self.code}/unbox")
        phone.signal(False)
        begun = Event.objects.order_by("-number").first().number
        self.unboxes(phone, FORGOTTEN)
        line.requests, line.answers = DROP - 2, 0  # it names itself, then its batch gets lost
        phone.signal(True)
        phone.sent()
        phone.close()
        lost = Counter(phone.entered) - arrived(lines_after(begun))
        return lost.total()

    def _put_down(self, phone: Handset) -> None:
        self.left += phone.left()
        phone.close()

    def _otherwise(self, phone: Handset) -> int:
        return phone.page.locator("record-says li").count()

    def entered(self) -> Counter[Entered]:
        """The true set: what people entered, by the script that did it."""
        return Counter(one for phone in self.phones for one in phone.entered)


def picture(seed: int) -> bytes:
    """A photo of noise, which names its camera and its place."""
    noise = np.random.default_rng(seed).integers(0, 255, (300, 400, 3), dtype=np.uint8)
    exif = Image.Exif()
    exif[0x010F] = MAKER
    exif.get_ifd(0x8825)[1] = "N"
    stream = io.BytesIO()
    Image.fromarray(noise).resize((2400, 1800)).save(stream, "JPEG", exif=exif)
    return stream.getvalue()


def arrived(lines: list[dict[str, object]]) -> Counter[Entered]:
    """What the server has of it, as its events' lines say."""
    return Counter(
        Entered(str(line["at"]), str(line["step"]), str(line.get("text", ""))) for line in lines
    )


def lines_after(number: int) -> list[dict[str, object]]:
    """The lines of all events above a ledger number."""
    later = Event.objects.filter(number__gt=number).order_by("number")
    return [json.loads(line) for line in later.values_list("line", flat=True)]
