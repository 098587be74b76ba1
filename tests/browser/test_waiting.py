"""What waits in a browser: whose it is, how long it is kept, who deals with it, its last resort."""

from __future__ import annotations

import json
from pathlib import Path

from django.core.management import call_command
from playwright.sync_api import Page, expect

from inventory.models import Event, Person
from tests.browser.bench import Bench, all_sent, saved_or_better
from tests.browser.keys import Scanner

ANSWERED = """async () => {
  const { strictly } = await import("/static/inventory/database.js");
  const { tidy } = await import("/static/inventory/store.js");
  const day = 86_400_000;
  await strictly(({ events }) => {
    const states = ["waiting", "refused", "answered", "answered"];
    [400, 400, 29.9, 30.1].forEach((age, index) => events.put({
      seq: index + 1, id: `${index}`, person: "p", line: "{}", state: states[index],
      at: Date.now() - age * day, answered: Date.now() - age * day,
    }));
  });
  await tidy();
  const { asked } = await import("/static/inventory/database.js");
  return asked("events", (all) => all.getAllKeys());
}"""


def test_what_was_answered_is_kept_thirty_days_and_the_rest_for_ever(
    page: Page, live_server
) -> None:
    """A server put back from an older copy than that has lost more than a phone can mend."""
    page.goto(f"{live_server.url}/sign-in")
    assert page.evaluate(ANSWERED) == [1, 2, 3]


def test_another_s_sign_in_neither_hides_nor_signs_what_waits(
    unwatched: Page, at_bench: Bench, tmp_path: Path
) -> None:
    """Wanda's page stays open: Mona signs in beside it, then Wanda leaves; a file is what is left.

    The page of somebody else shows that it waits; nothing is sent; from the file it comes in as
    Wanda's. Back again, she sends it herself, and it stays one.
    """
    wanda, mona = unwatched, unwatched.context.new_page()
    at_bench.sign_in(wanda, "wanda")
    wanda.goto(f"{at_bench.url}/kits/{at_bench.kit.code}/pick")
    badge = wanda.locator("unsent-badge summary span")
    expect(badge).to_have_text("All sent")
    wanda.wait_for_load_state("networkidle")  # an answer on its way would bring a cookie back
    wanda.context.clear_cookies()
    at_bench.sign_in(mona, "mona")

    wanda.bring_to_front()
    Scanner(wanda).scan("CT-BRACKET")
    saved_or_better(wanda, "saved")
    expect(wanda.locator("unsent-badge .trouble")).to_contain_text("Somebody else has signed in")
    expect(badge).to_have_text("1 not sent")
    person = Person.objects.get(username="wanda")
    person.is_active = False
    person.save()
    mona.bring_to_front()
    mona.reload()
    expect(mona.locator("unsent-badge summary span")).to_have_text("1 not sent")
    mona.locator("unsent-badge summary").click()
    expect(mona.locator("unsent-badge .others")).to_contain_text("belong to somebody else")
    expect(mona.locator("unsent-badge .lasting")).to_contain_text("This browser")
    with mona.expect_download() as download:
        mona.get_by_role("button", name="Save it to a file").click()
    file = tmp_path / download.value.suggested_filename
    download.value.save_as(file)
    assert at_bench.scans("pick") == []

    person.is_active = True
    person.save()
    call_command("bring_phone", str(file), "--write")
    assert at_bench.scans("pick") == ["CT-BRACKET"]
    mona.close()
    wanda.context.clear_cookies()
    at_bench.sign_in(wanda, "wanda")
    all_sent(wanda)
    assert at_bench.scans("pick") == ["CT-BRACKET"]
    event = Event.objects.get(step="pick")
    assert (event.person, json.loads(event.line)["seq"]) == (person, 1)


def test_what_is_refused_waits_for_a_person(unwatched: Page, at_bench: Bench) -> None:
    """It is listed with the server's words on every page until somebody has dealt with it."""
    page = unwatched
    at_bench.sign_in(page, "wanda")
    page.goto(f"{at_bench.url}/kits/{at_bench.kit.code}/pick")
    all_sent(page)
    page.context.set_offline(True)
    Scanner(page).scan("CT-BRACKET")
    saved_or_better(page, "saved")
    person = Person.objects.get(username="wanda")
    person.roles = ["technician"]
    person.save()
    page.context.set_offline(False)
    badge = page.locator("unsent-badge summary span")
    expect(badge).to_have_text("All sent, 1 to look at")
    page.goto(f"{at_bench.url}/my/")
    expect(badge).to_have_text("All sent, 1 to look at")
    page.locator("unsent-badge summary").click()
    expect(page.locator("unsent-badge li p")).to_have_text("pick CT-BRACKET: You may not do this.")
    page.get_by_role("button", name="I have dealt with it").click()
    expect(badge).to_have_text("All sent")
    page.reload()
    expect(badge).to_have_text("All sent")
    assert at_bench.scans("pick") == []
