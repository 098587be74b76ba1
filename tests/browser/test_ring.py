"""What a crew asks for rings at the bench until somebody takes it; the crew reads who brings it."""

from playwright.sync_api import Browser, Page, expect

from kitting import asked_for
from tests.browser.bench import Bench
from tests.kitting.yard import about


def test_a_request_rings_at_the_bench_and_its_answer_is_on_the_phone(
    page: Page, chromium: Browser, at_bench: Bench
) -> None:
    """Heard on any page of the bench, taken by one touch, answered with a name and an hour."""
    kit, yard = at_bench.kit, at_bench.yard
    yard.tariq.scan("request", "CT-TERM", kind="missing", quantity=1, **about(kit))
    at_bench.sign_in(page, "wanda")
    page.goto(f"{at_bench.url}/kits/")
    ring = page.locator("bench-ring")
    expect(ring).to_contain_text(f"{kit.job.code} needs 1 x bus end plug")
    ring.get_by_role("button", name="I take it").click()
    expect(ring).to_be_hidden()
    assert asked_for.of_kit(kit)[0].taken_by == yard.wanda.person

    page.goto(f"{at_bench.url}/requests/")
    page.get_by_label("Who", exact=True).select_option(label="Tove")
    page.get_by_label("When", exact=True).fill("23:50")
    page.get_by_role("button", name="Tell the crew").click()
    expect(page.locator("#asked")).to_contain_text("Tove brings it, ")
    phone = chromium.new_context().new_page()
    at_bench.sign_in(phone, "tariq")
    phone.goto(f"{at_bench.url}/my/{kit.job.code}/")
    expect(phone.locator("main")).to_contain_text("Still to come")
    expect(phone.locator("main")).to_contain_text("Tove brings it, ")
    phone.get_by_role("button", name="It has come").click()
    expect(phone.locator("main")).not_to_contain_text("Still to come")  # it goes by itself
    phone.context.close()
    assert asked_for.open_ones() == []
