"""A swap whose old label nobody can read: its place says what comes off, the new one is scanned."""

import json

from playwright.sync_api import Page, expect

from inventory.models import Event
from kitting.queries import stands_at
from tests.browser import bench
from tests.browser.bench import saved_or_better, scan
from tests.kitting.yard import about
from tests.stories.test_a_stack_grows import put_up


def test_the_new_one_is_scanned_and_not_typed(page: Page, live_server) -> None:
    """Without the place nothing is sent; the next swap is one of two scans again."""
    served = bench.served(live_server.url)
    made = served.yard
    put_up(made)
    job = made.job(job="swap", swap=[{"stack": 1, "level": 2}])
    kit = made.kit(job)
    made.box("N1")
    for step in ("pick", "load"):
        made.wanda.scan(step, "BOX-N1", **about(kit))
    made.tariq.scan("unbox", "N1", **about(kit))
    for serial in ("S1", "N1"):
        made.tariq.scan("charge", serial, number=30, **about(kit))
    served.sign_in(page, "tariq")
    page.goto(f"{served.url}/my/{job.code}/swap")
    page.get_by_role("button", name="I have read this").click()
    for _ in range(2):  # read twice by a scanner, the old one is no new one
        scan(page, made.label("S2"))
        expect(page.locator("scan-pad > .verdict")).to_contain_text("Now scan the new one.")
    page.reload()
    unread = page.get_by_label("The label on the old one cannot be read")
    unread.check()
    scan(page, made.label("N1"))
    saved_or_better(page, "stopped")
    expect(page.locator("scan-pad > .verdict")).to_contain_text("Choose where the old one stood")
    page.locator("[name=position][value='1/2']").check()
    scan(page, made.label("N1"))
    saved_or_better(page, "applied")

    (line,) = Event.objects.filter(step="swap").values_list("line", flat=True)
    told = json.loads(line)
    assert told["position"] == {"stack": 1, "level": 2}
    assert not {"with", "pairs", "alone"} & set(told)
    assert [(row.level, row.serial) for row in stands_at(made.site.place)] == [
        (1, "S1"),
        (2, "N1"),
        (3, "P1"),
    ]
    expect(unread).not_to_be_checked()
    assert page.get_by_label("Serial of the new one").count() == 0
