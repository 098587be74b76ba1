"""A technician's phone in tests: a browser that can be killed, with a clock of its own.

What a person enters on it is written down here as the true set, whatever becomes of it. Ids and
times follow from the clock that the test sets, so the same day twice makes the same event lines.
"""

from __future__ import annotations

import os
import signal
import time
from contextlib import suppress
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

from playwright.sync_api import Browser, BrowserContext, Error, Page, ViewportSize, expect

from tests.browser.bench import AGAIN, all_sent
from tests.browser.chromium import FLAGS, executable
from tests.browser.keys import Scanner
from tests.browser.relay import Relay

PHONE: ViewportSize = {"width": 390, "height": 844}
MORNING = datetime(2026, 11, 24, 6, 0, tzinfo=UTC)  # a day behind the firm's, see tests/firm.py
PACE = timedelta(seconds=7)  # from one scan to the next, by the phone's clock
PATIENCE = 60_000  # ms until all is sent over a bad line
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
KEPT = """async () => {
  const { rows } = await import('/static/inventory/store.js');
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
        self.page.set_default_timeout(15_000)

    def open(self, path: str) -> None:
        self.page.goto(f"{self.site}{path}")
        self.scanner = Scanner(self.page)

    def signal(self, there: bool) -> None:
        """The line is there or not; the browser's own switch does not reach every worker."""
        self.line.there = there
        self.context.set_offline(not there)

    def scan(self, text: str) -> None:
        """Scan a code by trusted keys, and again for as long as the page asks for that."""
        self.clock += PACE
        self.context.clock.set_fixed_time(self.clock)
        said = self.page.locator("scan-pad > .verdict")
        step = self.page.locator("scan-pad").get_attribute("step") or ""
        done = "(all) => { const n = all[0].done.at(-1); return n ?? ''; }"
        before = self.page.locator("scan-pad").evaluate_all(done)
        for _ in range(8):
            self.scanner.scan(text)
            for _ in range(60):
                if self.page.locator("scan-pad").evaluate_all(done) != before:
                    at = self.clock.isoformat(timespec="milliseconds").replace("+00:00", "Z")
                    self.entered.append(Entered(at, step, text))
                    self.page.wait_for_timeout(60)  # hands are not quicker
                    return
                if said.locator("span").inner_text() == AGAIN:
                    break
                self.page.wait_for_timeout(25)
            self.page.wait_for_timeout(700)
        raise AssertionError(f"{text} could not be scanned: {said.inner_text()}")

    def waits(self, count: int) -> None:
        """The badge says how many are not sent, and the browser's store has them."""
        expect(self.page.locator("unsent-badge summary span")).to_have_text(f"{count} not sent")
        assert self.page.evaluate(KEPT) == count

    def sent(self) -> None:
        """Wait until the badge says that nothing waits."""
        all_sent(self.page, PATIENCE)

    def left(self) -> int:
        """How many rows still wait in this browser."""
        return int(self.page.evaluate(KEPT))

    def process(self) -> int:
        """The browser's process, by the lock of its profile."""
        assert self.profile is not None
        return int(str((self.profile / "SingletonLock").readlink()).rpartition("-")[2])

    def kill(self) -> None:
        """SIGKILL to the browser's whole process group, as when the phone dies."""
        number = self.process()
        group = os.getpgid(number)
        assert group != os.getpgid(0), "the browser is in our own group"
        os.killpg(group, signal.SIGKILL)

    def gone(self) -> None:
        """Wait until the killed browser is dead and let go of it."""
        number = self.process()
        for _ in range(200):
            stat = Path(f"/proc/{number}/stat")
            if not stat.exists() or stat.read_text().rpartition(")")[2].split()[0] == "Z":
                break
            time.sleep(0.02)
        self.close()

    def close(self) -> None:
        with suppress(Error):  # it was killed
            self.context.close()
