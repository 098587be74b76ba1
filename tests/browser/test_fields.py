"""What a form's fields become in an event line, in the browser itself."""

from playwright.sync_api import Page, expect

from tests.browser.bench import Bench
from tests.inventory.test_typed_numbers import CASES

MAKE = """(typed) => import("/static/inventory/fields.js").then(({ fieldsOf }) => {
    const form = document.createElement("form");
    const input = Object.assign(document.createElement("input"), { name: "money" });
    form.append(input);
    return typed.map((text) => { input.value = text; return fieldsOf(form).quantity ?? null; });
})"""
READ = """(typed) => import("/static/inventory/typed.js").then(({ read }) =>
    typed.map((text) => { const { value, ways } = read(text); return value ?? ways ?? ""; }))"""
UNITS = """(typed) => import("/static/inventory/typed.js").then(({ inBase }) =>
    typed.map((text) => inBase(text, ["m", "ml"])))"""


def test_money_is_sent_in_cents(page: Page, live_server) -> None:
    """Whole, with a point or with a comma; what is no amount goes as it is, to be refused."""
    page.goto(f"{live_server.url}/sign-in")
    typed = ["1250", "1250.00", "1250,5", "0.07", "", "1.234", "x"]

    assert page.evaluate(MAKE, typed) == [125_000, 125_000, 125_050, 7, None, "1.234", "x"]


def test_the_browser_reads_numbers_as_the_server_does(page: Page, live_server) -> None:
    """One table for both; a measure with its unit is whole base units or nothing."""
    page.goto(f"{live_server.url}/sign-in")
    found = page.evaluate(READ, list(CASES))

    read = [tuple(one) if isinstance(one, list) else one for one in found]
    assert dict(zip(CASES, read, strict=True)) == CASES
    typed = ["12,5 m", "12.5m", "300 ML", "1,2345 m", "5 kg", "5", "1.250 m"]
    assert page.evaluate(UNITS, typed) == [12_500, 12_500, 300_000, None, None, 5, None]


def test_a_doubtful_number_is_asked_before_anything_is_sent(page: Page, at_bench: Bench) -> None:
    """Both readings are named at once, without the server; nothing is kept of it."""
    at_bench.sign_in(page, "tariq")
    page.goto(f"{at_bench.url}/my/{at_bench.kit.job.code}/problem")
    page.get_by_label("Which").fill("CT-BOLT6")
    box = page.get_by_label("How many")
    box.fill("1.250")
    page.get_by_role("button", name="Send it").click()

    verdict = page.locator(".verdict")
    expect(verdict).to_contain_text("How many: 1.250 can be 1250 or 1.25. Write one of them.")
    expect(box).to_have_attribute("aria-invalid", "true")
    expect(page.locator("unsent-badge summary")).to_contain_text("All sent")
    box.fill("2")
    page.get_by_role("button", name="Send it").click()
    expect(box).to_have_attribute("aria-invalid", "false")
