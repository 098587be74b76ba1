"""Scans without signal are kept, outlive the browser, and arrive once."""

import json
import os
import signal
import subprocess
from pathlib import Path

from playwright.sync_api import Browser, BrowserContext, Page, expect

from inventory.models import Event
from inventory.queries import latest_mark
from tests.browser.bench import Bench, all_sent, saved_or_better, scan, waiting
from tests.browser.chromium import FLAGS, executable


def test_what_was_scanned_without_signal_is_sent_once(unwatched: Page, at_bench: Bench) -> None:
    """Saved is said at once, the badge counts, and the line's return sends each scan once."""
    at_bench.sign_in(unwatched, "wanda")
    unwatched.goto(f"{at_bench.url}/kits/{at_bench.kit.code}/pick")
    scan(unwatched, "CT-BRACKET")
    saved_or_better(unwatched, "applied")
    unwatched.context.set_offline(True)
    for _ in range(3):
        scan(unwatched, "CT-CLAMP-L")
        saved_or_better(unwatched, "saved")
        unwatched.wait_for_timeout(150)
    expect(unwatched.locator("unsent-badge summary span")).to_have_text("3 not sent")

    assert at_bench.scans("pick") == ["CT-BRACKET"]

    unwatched.context.set_offline(False)
    all_sent(unwatched)

    assert at_bench.scans("pick") == ["CT-BRACKET", *["CT-CLAMP-L"] * 3]
    assert len(set(Event.objects.values_list("uid", flat=True))) == Event.objects.count()


def test_a_count_made_without_signal_is_judged_by_its_moment(
    unwatched: Page, at_bench: Bench
) -> None:
    """It names what this browser last knew; what another took meanwhile asks for a recount."""
    hand, shelf = at_bench.yard, at_bench.yard.firm.bins[0]
    at_bench.sign_in(unwatched, "wanda")
    unwatched.goto(f"{at_bench.url}/counting/?at={shelf.code}")
    drawn = latest_mark()["size"]
    hand.wanda.scan("put", "CT-BRACKET", start=shelf.code, target="BIN2", quantity=1)

    def count(quantity: int, verdict: str) -> None:
        unwatched.get_by_label("How many").fill(str(quantity))
        scan(unwatched, "CT-BRACKET")
        saved_or_better(unwatched, verdict)
        unwatched.wait_for_timeout(150)

    count(19, "applied")
    all_sent(unwatched)
    known = "{size}:{root}".format(**latest_mark())
    unwatched.context.set_offline(True)
    count(18, "saved")
    hand.wanda.scan("put", "CT-BRACKET", start=shelf.code, target="BIN2", quantity=3)
    unwatched.context.set_offline(False)
    all_sent(unwatched)
    saved_or_better(unwatched, "problem")
    expect(unwatched.locator("scan-pad > .verdict")).to_contain_text("3 moved in or out since")
    expect(unwatched.locator("#asked li")).to_contain_text(shelf.name)
    count(15, "applied")
    all_sent(unwatched)

    lines = Event.objects.filter(step="count").order_by("number").values_list("line", flat=True)
    first, second, third = (json.loads(line)["since"] for line in lines)
    assert int(first.partition(":")[0]) == drawn
    assert second == known
    assert int(third.partition(":")[0]) == latest_mark()["size"] - 2  # before it and its answer
    expect(unwatched.locator("#asked")).to_contain_text("Nothing is asked for")


def test_a_killed_browser_loses_nothing(chromium: Browser, at_bench: Bench, tmp_path: Path) -> None:
    """SIGKILL of the browser with scans unsent: the next start finds and sends them, once."""
    with Killed(chromium, tmp_path / "profile") as first:
        page = first.page
        at_bench.sign_in(page, "wanda")
        page.goto(f"{at_bench.url}/kits/{at_bench.kit.code}/pick")
        first.context.set_offline(True)
        for _ in range(5):
            scan(page, "CT-BRACKET")
            saved_or_better(page, "saved")
            page.wait_for_timeout(120)
        assert waiting(page) == "5 not sent"
        first.kill()

    assert at_bench.scans("pick") == []

    with Killed(chromium, tmp_path / "profile") as second:
        # The browser had not written its cookies yet: the queue outlives the session too.
        at_bench.sign_in(second.page, "wanda")
        all_sent(second.page)

    assert at_bench.scans("pick") == ["CT-BRACKET"] * 5
    lines = [
        json.loads(line) for line in Event.objects.order_by("number").values_list("line", flat=True)
    ]
    picked = [line["seq"] for line in lines if line["step"] == "pick"]
    assert picked == [1, 2, 3, 4, 5]


def test_an_answer_that_never_came_is_asked_for_again(unwatched: Page, at_bench: Bench) -> None:
    """The server committed, the answer was cut: the scan is sent again and stays one."""
    at_bench.sign_in(unwatched, "wanda")
    unwatched.goto(f"{at_bench.url}/kits/{at_bench.kit.code}/pick")
    cut = []

    def once(route) -> None:
        if cut:
            route.continue_()
            return
        cut.append(route.fetch().status)
        route.abort()

    unwatched.route("**/api/events*", once)
    scan(unwatched, "CT-BRACKET")
    expect(unwatched.locator("unsent-badge summary span")).to_have_text("1 not sent")
    unwatched.locator("unsent-badge summary").click()
    unwatched.get_by_role("button", name="Send now").click()
    all_sent(unwatched)

    assert cut == [200]
    assert at_bench.scans("pick") == ["CT-BRACKET"]


def test_nobody_signs_for_another(unwatched: Page, at_bench: Bench) -> None:
    """What one person scanned waits for that person, in sight of the next who signs in."""
    at_bench.sign_in(unwatched, "wanda")
    unwatched.goto(f"{at_bench.url}/kits/{at_bench.kit.code}/pick")
    unwatched.route("**/api/events*", lambda route: route.abort())
    scan(unwatched, "CT-BRACKET")
    expect(unwatched.locator("unsent-badge summary span")).to_have_text("1 not sent")
    unwatched.context.clear_cookies()
    unwatched.goto(f"{at_bench.url}/sign-in")
    unwatched.unroute("**/api/events*")
    at_bench.sign_in(unwatched, "mona")
    unwatched.goto(f"{at_bench.url}/kits/")
    expect(unwatched.locator("unsent-badge summary span")).to_have_text("1 not sent")
    unwatched.locator("unsent-badge summary").click()
    expect(unwatched.locator("unsent-badge .others")).to_contain_text("somebody else")

    assert at_bench.scans("pick") == []

    unwatched.context.clear_cookies()
    at_bench.sign_in(unwatched, "wanda")
    all_sent(unwatched)

    assert Event.objects.get(step="pick").person.username == "wanda"


class Killed:
    """A browser with a profile of its own that can be killed like a crashed phone."""

    def __init__(self, chromium: Browser, profile: Path) -> None:
        self.launcher = chromium.browser_type
        self.profile = profile
        self.context: BrowserContext
        self.unwatched: Page

    def __enter__(self) -> "Killed":
        self.context = self.launcher.launch_persistent_context(
            str(self.profile), executable_path=executable(), args=FLAGS
        )
        self.page = self.context.pages[0]
        return self

    def kill(self) -> None:
        """SIGKILL to every process that holds this profile."""
        listing = subprocess.run(
            ["pgrep", "-f", f"user-data-dir={self.profile}"],
            capture_output=True,
            text=True,
            check=False,
        )
        for number in listing.stdout.split():
            try:
                os.kill(int(number), signal.SIGKILL)
            except ProcessLookupError:
                continue

    def __exit__(self, *error: object) -> None:
        try:
            self.context.close()
        except Exception:  # it was killed
            return
