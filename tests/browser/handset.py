"""A technician's phone in tests: a browser that can be killed, with a clock of its own.

What a person enters on it is written down here as the true set, whatever becomes of it. Ids and
times follow from the clock that the test sets, so the same day twice makes the same event lines.
"""

from __future__ import annotations

import os
import re
import signal
import subprocess
import time
from contextlib import suppress
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

from playwright.sync_api import Browser, BrowserContext, Error, Page, ViewportSize, expect

from tests.browser.bench import all_sent
from tests.browser.chromium import FLAGS, executable
from tests.browser.relay import Relay
from tests.counts import counts

PHONE: ViewportSize = {"width": 390, "height": 844}
MORNING = datetime(2026, 11, 24, 6, 0, tzinfo=UTC)  # a day behind the firm's, see tests/firm.py
PACE = timedelta(seconds=7)  # from one scan to the next, by the phone's clock
GAP = 3  # ms from key to key: trusted key events, as a hand scanner types
PATIENCE = counts(120_000, 900_000)  # ms until all is sent over a bad line
# Random bytes that follow from the phone, its clock, and how often they were asked for just then.
CHANCE = """{
  let [at, count] = [0, 0];
  crypto.getRandomValues = (bytes) => {
    if (Date.now() !== at) [at, count] = [Date.now(), 0];
    let word = ((at %% 2 ** 31) ^ (%d * 2654435761) ^ (++count * 40503)) | 1;
    for (let i = 0; i < bytes.length; i++) {
      word ^= word << 13; word ^= word >>> 17; word ^= word << 5;
      bytes[i] = word & 255;
    }
    return bytes;
  };
}"""
TORN = "() => { window.torn = 0; document.addEventListener('scan:again', () => window.torn++); }"
SEEN = "(pad) => [pad.done.at(-1) ?? '', window.torn]"  # the latest kept, how many came torn
KEPT = """async () => {
  const { rows } = await import('/static/inventory/store.js');
  return (await rows('waiting')).length;
}"""
BESIDE = """async () => {
  const { rows } = await import('/static/inventory/enclosures.js');
  return (await rows('waiting')).length;
}"""


@dataclass(frozen=True, order=True)
class Entered:
    """One thing that a person did: by which phone's clock, what, and the text of the code."""

    at: str
    step: str
    text: str


@dataclass
class Handset:
    """One phone; `profile` is the folder that outlives its browser, None for one never killed."""

    chromium: Browser
    line: Relay
    number: int
    profile: Path | None = None
    clock: datetime = MORNING
    entered: list[Entered] = field(default_factory=list)

    @property
    def site(self) -> str:
        return f"http://127.0.0.1:{self.line.port}"

    def start(self, *, offline: bool = False, **options: Any) -> None:
        """Start the browser; what an earlier one kept in the profile is there."""
        if self.profile is None:
            self.context: BrowserContext = self.chromium.new_context(viewport=PHONE, **options)
            self.page: Page = self.context.new_page()
        else:
            self.context = self.chromium.browser_type.launch_persistent_context(
                str(self.profile), executable_path=executable(), args=FLAGS, viewport=PHONE
            )
            self.page = self.context.pages[0]
        self.context.add_init_script(CHANCE % self.number)
        self.signal(not offline)
        self.context.clock.set_fixed_time(self.clock)
        self.page.set_default_timeout(30_000)

    def open(self, path: str) -> None:
        self.page.goto(f"{self.site}{path}")
        self.page.evaluate(TORN)

    def signal(self, there: bool) -> None:
        """The line is there or not; the browser's own switch does not reach every worker."""
        self.line.there = there
        self.context.set_offline(not there)

    def scan(self, text: str) -> None:
        """Scan a code by trusted keys, and again for as long as the page asks for that."""
        self.clock += PACE
        self.context.clock.set_fixed_time(self.clock)
        pad = self.page.locator("scan-pad")
        step = pad.get_attribute("step") or ""
        before, torn = pad.evaluate(SEEN)
        for _ in range(8):
            self.page.keyboard.type(text, delay=GAP)
            self.page.keyboard.press("Enter")
            now = (before, torn)
            for _ in range(400):
                self.page.wait_for_timeout(25)
                now = pad.evaluate(SEEN)
                if now != [before, torn]:
                    break
            if now[0] != before:
                at = self.clock.isoformat(timespec="milliseconds").replace("+00:00", "Z")
                self.entered.append(Entered(at, step, text))
                return
            torn = now[1]
            self.page.wait_for_timeout(700)
        raise AssertionError(f"{text} could not be scanned: {pad.inner_text()[:200]}")

    def photographs(self, name: str, data: bytes, text: str) -> None:
        """Tell of damage with a photo, as the camera gives it."""
        self.clock += PACE
        self.context.clock.set_fixed_time(self.clock)
        page = self.page
        page.get_by_label("Damaged (with a photo)").check()
        page.get_by_label("Which").fill(text)
        page.get_by_label("How many").fill("1")
        page.locator("input[type=radio][name=reason]").first.check()
        shot = {"name": name, "mimeType": "image/jpeg", "buffer": data}
        page.get_by_label("Photo", exact=True).set_input_files(files=[shot])
        page.get_by_role("button", name="Send it").click()
        said = page.locator("event-form .verdict").first
        expect(said).to_have_attribute("data-verdict", "saved", timeout=PATIENCE)
        at = self.clock.isoformat(timespec="milliseconds").replace("+00:00", "Z")
        self.entered.append(Entered(at, "damaged", text))
        self.page.reload()

    def waits(self, count: int) -> None:
        """The badge says how many are not sent, and the browser's store has them."""
        said = re.compile(rf"^{count} not sent\b")
        badge = self.page.locator("unsent-badge summary span")
        expect(badge).to_have_text(said, timeout=PATIENCE)
        assert self.page.evaluate(KEPT) == count

    def sent(self) -> None:
        """Wait until the badge says that nothing waits."""
        all_sent(self.page, PATIENCE)

    def left(self) -> int:
        """How many rows still wait in this browser, photos with them."""
        return int(self.page.evaluate(KEPT)) + int(self.page.evaluate(BESIDE))

    def process(self) -> int:
        """The browser's process: the oldest of those that have its profile."""
        command = ["pgrep", "-o", "-f", f"user-data-dir={self.profile}"]
        return int(subprocess.run(command, capture_output=True, check=True).stdout)

    def kill(self) -> None:
        """SIGKILL to the browser's whole process group, as when the phone dies."""
        self.dead = self.process()
        group = os.getpgid(self.dead)
        assert group != os.getpgid(0), "the browser is in our own group"
        os.killpg(group, signal.SIGKILL)

    def gone(self) -> None:
        """Wait until the killed browser is dead and let go of it."""
        for _ in range(200):
            stat = Path(f"/proc/{self.dead}/stat")
            if not stat.exists() or stat.read_text().rpartition(")")[2].split()[0] == "Z":
                break
            time.sleep(0.02)
        self.close()

    def close(self) -> None:
        with suppress(Error):  # it was killed
            self.context.close()
