"""A password given anew takes nothing from a phone; what is typed can be looked at."""

from django.contrib.auth import authenticate
from playwright.sync_api import Page, expect

from inventory import catalogue
from inventory.models import Person
from tests.browser.bench import PASSWORD, Bench, all_sent, saved_or_better, scan

NEW = "gutter ladder seven birch"


def test_what_was_not_sent_outlives_a_new_password(unwatched: Page, at_bench: Bench) -> None:
    """The session is over: the scan stays, says what to do, and goes out after signing in again."""
    at_bench.sign_in(unwatched, "wanda")
    unwatched.goto(f"{at_bench.url}/kits/{at_bench.kit.code}/pick")
    unwatched.context.set_offline(True)
    scan(unwatched, "CT-BRACKET")
    saved_or_better(unwatched, "saved")

    mona, wanda = (Person.objects.get(username=name) for name in ("mona", "wanda"))
    catalogue.change_password(wanda, NEW, by=mona)
    unwatched.context.set_offline(False)
    expect(unwatched.locator("unsent-badge")).to_contain_text("Sign in again", timeout=20_000)
    assert at_bench.scans("pick") == []

    unwatched.goto(f"{at_bench.url}/kits/")
    unwatched.get_by_label("Name").fill("wanda")
    unwatched.get_by_label("Password").fill(NEW)
    unwatched.get_by_role("button", name="Sign in").click()
    all_sent(unwatched)

    assert at_bench.scans("pick") == ["CT-BRACKET"]


def test_the_own_password_is_typed_in_sight(page: Page, at_bench: Bench) -> None:
    """A switch shows what was typed; it is hidden as the form goes, and this browser stays in."""
    at_bench.sign_in(page, "wanda")
    page.get_by_role("link", name="My sign-in").click()
    page.get_by_label("Password until now").fill(PASSWORD)
    new = page.get_by_label("New password")
    new.fill(NEW)
    assert new.get_attribute("type") == "password"
    page.get_by_label("Show what I type").nth(1).check()
    assert new.get_attribute("type") == "text"
    page.evaluate("""() => document.addEventListener("submit", () => sessionStorage.setItem(
        "type", document.getElementById("id_new").type))""")
    page.get_by_role("button", name="Change my password").click()
    expect(page.get_by_role("status").first).to_contain_text("Your password is changed.")

    assert page.evaluate("() => sessionStorage.getItem('type')") == "password"
    assert authenticate(username="wanda", password=NEW) is not None
