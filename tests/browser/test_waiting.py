"""What waits in a browser: whose it is, how long it is kept, who deals with it, its last resort."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest
from django.core.management import CommandError, call_command
from playwright.sync_api import Page, expect

from inventory.models import Event, Note, Person, Photo
from tests.browser.bench import Bench, all_sent, saved_or_better
from tests.browser.keys import Scanner
from tests.browser.offline_day import picture

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


def sign_over(page: Page) -> None:
    """Somebody's name, which waits as words beside the event, and a photo of what was signed."""
    page.get_by_label("Name of who takes it over").fill("Nadja Example")
    file = {"name": "a.jpg", "mimeType": "image/jpeg", "buffer": picture(1)}
    page.get_by_label("Or signed on paper: a photo of it").set_input_files(files=[file])
    page.get_by_role("button", name="It is signed").click()


def test_a_leaver_s_words_are_kept_and_never_another_s(
    unwatched: Page, at_bench: Bench, tmp_path: Path
) -> None:
    """Tariq leaves the firm while his phone has no signal: what he wrote and photographed stays.

    His page says where to bring the phone. Tove works on it, hers goes out and his does not; from
    a file his comes in, as his, once somebody has let him in again.
    """
    page, job = unwatched, at_bench.kit.job
    job.crew.add(at_bench.yard.tove.person)
    at_bench.sign_in(page, "tariq")
    page.goto(f"{at_bench.url}/my/{job.code}/back")
    all_sent(page)
    page.context.set_offline(True)
    sign_over(page)
    badge = page.locator("unsent-badge summary span")
    expect(badge).to_have_text("1 not sent, 1 photo not sent")
    tariq = at_bench.yard.tariq.person
    tariq.is_active = False
    tariq.save()
    page.context.set_offline(False)
    expect(page.locator("unsent-badge .trouble")).to_contain_text("hand this device to the office")

    page.context.clear_cookies()
    at_bench.sign_in(page, "tove")
    page.goto(f"{at_bench.url}/my/{job.code}/unbox")
    expect(badge).to_have_text("1 not sent, 1 photo not sent")
    Scanner(page).scan("CT-BRACKET")
    answered = re.compile("^(applied|noted)$")
    expect(page.locator("scan-pad > .verdict")).to_have_attribute("data-verdict", answered)
    expect(badge).to_have_text("1 not sent, 1 photo not sent")
    page.locator("unsent-badge summary").click()
    expect(page.locator("unsent-badge .others")).to_contain_text("If that person has left")
    assert at_bench.scans("unbox") == ["CT-BRACKET"]
    assert not Event.objects.filter(step="sign_over").exists()
    assert not Note.objects.exists()
    assert not Photo.objects.exists()

    with page.expect_download() as download:
        page.get_by_role("button", name="Save it to a file").click()
    file = tmp_path / "not-sent.jsonl"
    download.value.save_as(file)
    with pytest.raises(CommandError, match="Tariq has left"):
        call_command("bring_phone", str(file), "--write")
    assert not Note.objects.exists()
    tariq.is_active = True
    tariq.save()
    call_command("bring_phone", str(file), "--write")
    note, event = Note.objects.get(), Event.objects.get(step="sign_over")
    assert (note.text, note.person, event.person) == ("Nadja Example", tariq, tariq)
    assert Photo.objects.get().person == tariq


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
