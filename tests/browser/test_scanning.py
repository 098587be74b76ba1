"""A hand scanner that types like a keyboard, on the pick page, in a real browser."""

import pytest
from playwright.sync_api import Page, expect

from inventory.models import Event
from tests.browser import bench
from tests.browser.bench import Bench, all_sent, saved_or_better, scan


@pytest.fixture
def pick(page: Page, at_bench: Bench) -> Page:
    """The pick page in front of the warehouse."""
    at_bench.sign_in(page, "wanda")
    page.goto(f"{at_bench.url}/kits/{at_bench.kit.code}/pick")
    return page


@pytest.mark.parametrize("gap", [5, 20])
def test_a_scan_is_heard_wherever_the_focus_is(pick: Page, at_bench: Bench, gap: int) -> None:
    """No field has the focus; the verdict is a word, a shape and a sentence."""
    scan(pick, "CT-BRACKET", gap)

    saved_or_better(pick, "applied")
    expect(pick.locator("scan-pad > .verdict strong")).to_have_text("Done")
    expect(pick.locator("scan-pad > .verdict span")).to_contain_text("wall bracket picked")
    expect(pick.locator("scan-pad > .verdict use")).to_have_attribute("href", "#shape-applied")
    assert at_bench.scans("pick") == ["CT-BRACKET"]
    assert Event.objects.get(step="pick").scan.via == "keys"


def test_a_scan_into_a_field_leaves_the_field_as_it_was(pick: Page, at_bench: Bench) -> None:
    """What a person had begun to type stays; the burst goes to the scan."""
    quantity = pick.locator("#quantity")
    quantity.fill("2")
    quantity.focus()
    scan(pick, "CT-BRACKET")

    saved_or_better(pick, "applied")
    assert '"quantity":2' in Event.objects.get(step="pick").line


def test_slow_typing_is_no_scan(pick: Page, at_bench: Bench) -> None:
    """A person's pace stays in the field until they press the button; then it came by hand."""
    field = pick.get_by_label("Type a code")
    field.focus()
    pick.keyboard.type("CT-BRACKET", delay=150)

    assert field.input_value() == "CT-BRACKET"
    assert at_bench.scans("pick") == []

    pick.keyboard.press("Enter")
    saved_or_better(pick, "applied")

    assert Event.objects.get(step="pick").scan.via == "hand"


def test_half_a_code_never_counts(pick: Page, at_bench: Bench) -> None:
    """A scanner that stutters gives the end of a code: it is refused aloud, nothing is sent."""
    pick.keyboard.type("CT", delay=8)
    pick.wait_for_timeout(200)
    pick.keyboard.type("-BRACKET", delay=8)
    pick.keyboard.press("Enter")

    saved_or_better(pick, "refused")
    expect(pick.locator("scan-pad > .verdict span")).to_have_text(bench.AGAIN)
    assert at_bench.scans("pick") == []


def test_what_no_line_names_goes_along_and_is_told(pick: Page, at_bench: Bench) -> None:
    """The hand wins; the sentence says what to do."""
    scan(pick, "09521234000020")

    saved_or_better(pick, "problem")
    expect(pick.locator("scan-pad > .verdict span")).to_contain_text("Put it back, or tell")


def test_a_bags_label_chooses_where_it_goes(pick: Page, at_bench: Bench) -> None:
    """The bag's own label is the choice, not a thing."""
    bag = at_bench.kit.packages.filter(kind="bag").order_by("-number").first()
    assert bag
    scan(pick, bag.place.code)
    saved_or_better(pick, "ready")
    scan(pick, "CT-CLAMP-L")
    saved_or_better(pick, "applied")

    assert f'"target":"{bag.place.code}"' in Event.objects.get(step="pick").line


def test_undo_is_one_tap(pick: Page, at_bench: Bench) -> None:
    """The last scan of this page is taken back by an event that names it."""
    scan(pick, "CT-BRACKET")
    saved_or_better(pick, "applied")
    pick.get_by_role("button", name="Undo last").click()
    expect(pick.locator("scan-pad > .verdict span")).to_have_text("Undone.")

    done = Event.objects.get(step="pick")
    assert Event.objects.get(step="undo").reversal.reversed == done


def test_the_list_follows_the_scans(pick: Page) -> None:
    """What was taken moves from the walk to what is packed, without a reload."""
    scan(pick, "CT-BRACKET")
    saved_or_better(pick, "applied")

    packed = pick.locator("#walk ul").last
    expect(packed).to_contain_text("wall bracket")


def test_the_badge_is_always_there(pick: Page, at_bench: Bench) -> None:
    """Each page of a signed-in person shows what is not sent."""
    for address in ("/kits/", "/stock/", "/goods-in/"):
        pick.goto(f"{at_bench.url}{address}")
        all_sent(pick)
