"""What a form's fields become in an event line, in the browser itself."""

from playwright.sync_api import Page

MAKE = """(typed) => import("/static/inventory/fields.js").then(({ fieldsOf }) => {
    const form = document.createElement("form");
    const input = Object.assign(document.createElement("input"), { name: "money" });
    form.append(input);
    return typed.map((text) => { input.value = text; return fieldsOf(form).quantity ?? null; });
})"""


def test_money_is_sent_in_cents(page: Page, live_server) -> None:
    """Whole, with a point or with a comma; what is no amount goes as it is, to be refused."""
    page.goto(f"{live_server.url}/sign-in")
    typed = ["1250", "1250.00", "1250,5", "0.07", "", "1.234", "x"]

    assert page.evaluate(MAKE, typed) == [125_000, 125_000, 125_050, 7, None, "1.234", "x"]
