"""What came back, settled at a desk in a real browser."""

from playwright.sync_api import Page, expect

from inventory.models import Return
from inventory.returns import open_ones
from kitting.shelves import on_shelves
from tests.browser import bench
from tests.kitting.yard import about


def test_left_over_lines_are_settled_in_one_touch_each_once(page: Page, live_server) -> None:
    """The button on top sends what each line's own would, once; what is damaged stays."""
    served = bench.on_its_van(live_server.url)
    yard, kit = served.yard, served.kit
    yard.wanda.scan("come_back", "S1", target="DOCK", kind="damaged", **about(kit))
    for code in ("CT-BOLT6", "CT-SCREW5"):
        yard.shelve(code, 5)
        back = {"target": "DOCK", "kind": "left", "from": yard.firm.van.code, "quantity": 2}
        done = yard.wanda.scan("come_back", code, **back)
        assert done.verdict in ("applied", "problem"), done.sentence
    left = {one.pk for one in open_ones().filter(kind="left")}
    assert len(left) == 2
    served.sign_in(page, "wanda")
    page.goto(f"{served.url}/returns/")

    page.get_by_role("button", name="the rest is as new").dblclick()

    expect(page.locator("confirm-all > section > .verdict")).to_contain_text("All 2 are taken.")
    expect(page.locator("#back li[data-subject]")).to_have_count(0)
    assert open_ones().exclude(kind="left").count() == open_ones().count() == 1
    for one in Return.objects.filter(pk__in=left):
        assert [step.kind for step in one.steps.all()] == ["checked"]
        assert on_shelves([one.item.pk])[one.item.pk][0].quantity == 7
