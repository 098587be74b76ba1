"""The technician's phone without signal: pages, outcomes and whose they are."""

from __future__ import annotations

import json
import random
import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from django.utils import timezone
from playwright.sync_api import Browser, Page, expect

from inventory.codes.serials import look_up_key
from inventory.models import Person
from inventory.views import installing
from kitting.models import Site
from tests.browser.bench import Bench, all_sent, saved_or_better, scan, served
from tests.browser.conftest import PHONE
from tests.kitting.yard import about

# Of a customer and of a colleague: DEVELOPERS.md says what a phone keeps (OWASP ASVS 5.0, 14.3.3).
NUMBERS = ("01632 960104", "01632 960177")  # nobody's (Ofcom, numbers for drama)
VECTORS = Path(__file__).parents[1] / "codes" / "lookup_vectors.json"


@pytest.fixture
def firm(live_server) -> Bench:
    """Tariq's job with one module on its van, and Tove's with another."""
    found = served(live_server.url)
    theirs = found.yard.kit(found.yard.job(found.yard.tove))
    Site.objects.update(phone=NUMBERS[0])
    Person.objects.update(phone=NUMBERS[1])
    for kit, serial in ((found.kit, "S1"), (theirs, "T1")):
        found.yard.box(serial)
        for step in ("pick", "load"):
            found.yard.wanda.scan(step, f"BOX-{serial}", **about(kit))
    return found


@pytest.fixture
def phone(chromium: Browser, firm: Bench) -> Iterator[Page]:
    """Tariq's phone, ready for a day without signal."""
    context = chromium.new_context(viewport=PHONE)
    page = context.new_page()
    ready(page, firm, "tariq")
    yield page
    context.close()


def ready(page: Page, firm: Bench, name: str) -> None:
    firm.sign_in(page, name)
    page.goto(f"{firm.url}/my/")
    expect(page.locator("ready-line[data-ready] p")).to_contain_text("Ready without signal: ")


def test_the_server_goes_by_the_browser_s_clock(page: Page, live_server) -> None:
    """Whatever else runs beside it: else a sign-in of 14 days lasts 11 on the phone."""
    page.goto(f"{live_server.url}/sign-in")
    apart = page.evaluate("Date.now()") / 1000 - timezone.now().timestamp()

    assert abs(apart) < 60


def test_the_look_up_key_is_the_server_s(page: Page, live_server) -> None:
    """Every shared vector, and texts thrown together from what labels hold: one key, both sides."""
    vectors = json.loads(VECTORS.read_text(encoding="utf-8"))["vectors"]
    dice = random.Random(6)
    signs = [
        "LB",
        "lb",
        "U",
        "]",
        "C1",
        "\x1d",
        " ",
        "01",
        "09520123456788",
        "ß",
        "\t",
        "(",
        "a7",
    ]
    texts = [row["text"] for row in vectors]
    texts += ["".join(dice.choices(signs, k=dice.randint(0, 7))) for _ in range(600)]
    texts += ["LBU" + "".join(dice.choices("019AZaz", k=dice.randint(6, 8))) for _ in range(200)]
    page.goto(f"{live_server.url}/sign-in")
    found = page.evaluate(
        "async (texts) => {"
        " const { lookUpKey } = await import('/static/inventory/look-up-key.js');"
        " return texts.map(lookUpKey); }",
        texts,
    )

    assert found == [look_up_key(text) for text in texts]
    assert found[: len(vectors)] == [row["key"] for row in vectors]


BEFORE = """(version) => new Promise((done) => {
  const request = indexedDB.open("lastbolt-queue", version);
  request.onupgradeneeded = () => {
    const events = request.result.createObjectStore("events", { keyPath: "seq" });
    events.createIndex("state", ["state", "seq"]);
    events.createIndex("id", "id", { unique: true });
    request.result.createObjectStore("facts").put(7, "seq");
    events.add({ seq: 7, id: "a", person: "p", line: "{}", state: "waiting", at: 1 });
    if (version < 2) return;
    request.result.createObjectStore("tables").put({ jobs: [] }, "p");
    request.result.createObjectStore("looked", { keyPath: "id" }).add({ id: "a", at: 1 });
  };
  request.onsuccess = () => done(request.result.close());
})"""
STORES = {1: [1, 1, 0, 0, 0], 2: [1, 1, 1, 1, 0]}  # rows: events, facts, tables, looked, enclosures


@pytest.mark.parametrize("version", STORES)
def test_a_queue_of_an_earlier_version_is_kept(page: Page, live_server, version: int) -> None:
    """The browser's database grew; what waited in it waits still, and all else is there."""
    # The origin without our pages' work: it lets go what is old or another person's.
    page.route("**/index*.js", lambda route: route.fulfill(body="", content_type="text/javascript"))
    page.goto(f"{live_server.url}/no-signal")
    page.evaluate(BEFORE, version)
    kept = page.evaluate(
        "async () => {"
        " const { rows, fact } = await import('/static/inventory/store.js');"
        " const { asked } = await import('/static/inventory/database.js');"
        " const names = ['events', 'facts', 'tables', 'looked', 'enclosures'];"
        " const counts = names.map((name) => asked(name, (all) => all.count()));"
        " const waiting = (await rows('waiting')).map((row) => row.seq);"
        " return [waiting, await fact('seq'), await Promise.all(counts)]; }"
    )

    assert kept == [[7], 7, STORES[version]]


ON_PHONE = """async () => {
  const found = [JSON.stringify([localStorage, sessionStorage])];
  const asked = (question) => new Promise((done) => {
    question.onsuccess = () => done(question.result);
  });
  for (const name of await caches.keys()) {
    const answers = name.startsWith("pages ") ? await (await caches.open(name)).matchAll() : [];
    for (const one of answers) found.push(await one.text());
  }
  for (const { name } of await indexedDB.databases()) {
    const base = await asked(indexedDB.open(name));
    for (const store of base.objectStoreNames) {
      found.push(JSON.stringify(await asked(base.transaction(store).objectStore(store).getAll())));
    }
    base.close();
  }
  return found.join("\\n");
}"""


def test_a_job_s_pages_open_and_know_codes_without_signal(
    phone: Page, firm: Bench, monkeypatch: pytest.MonkeyPatch
) -> None:
    """From the list on each page that a link leads to; others say that they are not kept.

    On them the phone says of a code what it is: known with its way, known twice, another's, its
    box, unknown. The record's answer that differs is a signal of its own, and stays until seen.
    """
    code, label = firm.kit.job.code, firm.yard.label
    phone.goto(f"{firm.url}/my/{code}/")
    links = phone.locator(f"a[href^='/my/{code}/']").evaluate_all(
        "(all) => [...new Set(all.map((link) => new URL(link.href).pathname))]"
    )
    phone.context.set_offline(True)
    assert len(links) > 3
    kept = phone.evaluate(ON_PHONE)
    assert code in kept
    assert [number for number in NUMBERS if number in kept] == []
    tariq = str(firm.yard.tariq.person.uid)
    for path in ("/my/", f"/my/{code}/", *links):
        phone.goto(f"{firm.url}{path}")
        expect(phone.locator("h1")).not_to_have_text("No signal")
        expect(phone.locator("body")).to_have_attribute("data-person", tariq)
    phone.goto(f"{firm.url}/sites/")
    expect(phone.locator("h1")).to_have_text("No signal")
    phone.get_by_role("link", name="To what is kept").click()
    expect(phone.locator("h1")).to_have_text("My jobs")
    ready_for = r"Ready without signal: \d+ pages, \d+\.\d MB, \d+ min old\. Signed in for 14 days"
    expect(phone.locator("ready-line p")).to_contain_text(re.compile(ready_for))

    for thing in ("CT-BRACKET", "CT-CLAMP-L"):  # beside a thing "Damaged" was pressed
        phone.goto(f"{firm.url}/my/{code}/problem?thing={thing}")
        expect(phone.get_by_label("Which")).to_have_value(thing)

    phone.goto(f"{firm.url}/my/{code}/unbox")
    said = phone.locator("scan-pad > .verdict")
    for text, verdict, words in (
        ("BOX-S1", "stopped", "Scan the label on the thing itself"),
        (label("T1"), "stopped", "belongs to another job: set it aside"),
        ("NEVER-SEEN-1", "saved", "kept, judged when signal returns"),
        (label("S1"), "saved", "S1, 1 of 2, "),
        (label("S1").removeprefix("]C1"), "noted", "already unboxed here"),
    ):
        scan(phone, text)
        expect(said).to_contain_text(words)
        saved_or_better(phone, verdict)
    # Meanwhile the office sets it aside: what the phone said does not hold.
    firm.yard.wanda.scan("set_aside", label("S1"), reason="wet")
    phone.context.set_offline(False)
    all_sent(phone)
    told = phone.locator("record-says li")
    expect(told.filter(has_text="S1")).not_to_have_count(0)
    expect(told.filter(has_text="wet").first).to_contain_text("Here it said")
    expect(said).to_have_attribute("data-otherwise", "yes")
    expect(said).to_contain_text("The record says otherwise")
    count = told.count()
    phone.get_by_role("button", name="I have seen it").first.click()
    expect(told).to_have_count(count - 1)
    a_new_version_waits(phone, firm, monkeypatch)


def test_a_thing_scanned_into_no_place_stops_at_once(phone: Page, firm: Bench) -> None:
    """Hours later, with signal, the record would say so of every unit of the stack."""
    phone.goto(f"{firm.url}/my/{firm.kit.job.code}/fit")
    read = phone.get_by_role("button", name="I have read this")
    if read.is_visible():
        read.click()
    phone.context.set_offline(True)
    scan(phone, firm.yard.label("S1"))
    said = phone.locator("scan-pad > .verdict")
    expect(said).to_contain_text("Say where it stands: stack and place in the stack.")
    saved_or_better(phone, "stopped")
    expect(phone.locator("unsent-badge summary span")).to_have_text("All sent")

    phone.get_by_label("place 1").first.check()
    scan(phone, firm.yard.label("S1"))
    saved_or_better(phone, "saved")
    expect(phone.locator("unsent-badge summary span")).to_have_text("1 not sent")


def test_the_bar_is_no_higher_for_what_is_not_sent(phone: Page, firm: Bench) -> None:
    """What a thumb is on its way to stays where it was, on phones of 320 and 390 px."""
    grown = """() => {
      const bar = document.querySelector(".bar"), before = bar.clientHeight;
      const badge = document.querySelector("unsent-badge summary span");
      badge.textContent = "12 not sent, 1 photo not sent";
      const way = document.querySelector(".to-ways").getClientRects();
      return [bar.clientHeight - before, way.length];
    }"""
    for width in (320, 390):
        phone.set_viewport_size({"width": width, "height": 700})
        phone.goto(f"{firm.url}/my/{firm.kit.job.code}/unbox")
        all_sent(phone)
        assert phone.evaluate(grown) == [0, 1], width


def a_new_version_waits(phone: Page, firm: Bench, monkeypatch: pytest.MonkeyPatch) -> None:
    """A new release waits until somebody taps; till then the pages stay those of the old one."""
    newer = f"{installing._source()}// newer\n"
    monkeypatch.setattr(installing, "_source", lambda: newer)
    tap = phone.get_by_role("button", name="New version: tap to take it")
    statics = "async () => (await caches.keys()).filter((name) => name.startsWith('static '))"
    (old,) = phone.evaluate(statics)
    phone.goto(f"{firm.url}/my/")
    expect(tap).to_be_visible()
    phone.reload()
    expect(tap).to_be_visible()
    tidied = (
        "async () => { navigator.serviceWorker.controller.postMessage('tidy');"
        " await fetch('/my/'); }"
    )
    phone.evaluate(tidied)  # as the old one is asked to once it has kept its pages
    kept = phone.evaluate(statics)
    assert (len(kept), old in kept) == (2, True)
    tap.click()
    expect(tap).to_be_hidden()
    expect(phone.locator("ready-line[data-ready]")).to_have_count(1)
    for _ in range(50):
        if old not in phone.evaluate(statics):
            break
        phone.wait_for_timeout(100)
    (new,) = phone.evaluate(statics)
    assert new != old


def test_nobody_sees_what_another_s_phone_kept(phone: Page, firm: Bench) -> None:
    """Signing out or in as another takes pages and tables away; what was scanned stays queued."""
    code = firm.kit.job.code
    plain = phone.context.new_page()  # as on plain http, away from localhost
    plain.add_init_script("Object.defineProperty(window, 'isSecureContext', { value: false })")
    plain.goto(f"{firm.url}/my/")
    expect(plain.locator("ready-line p")).to_contain_text("No-signal mode is off: this address is")
    plain.close()
    phone.goto(f"{firm.url}/my/{code}/unbox")
    phone.context.set_offline(True)
    phone.reload()
    scan(phone, firm.yard.label("S1"))
    saved_or_better(phone, "saved")
    # Somebody else's session, as when the phone was handed on: no signing out came before.
    phone.context.set_offline(False)
    phone.route("**/api/**", lambda route: route.abort())
    phone.context.clear_cookies()
    phone.goto(f"{firm.url}/sign-in")
    kept = "async () => (await caches.keys()).filter((name) => name.startsWith('pages '))"
    firm.sign_in(phone, "tove")
    expect(phone.locator("body")).to_have_attribute("data-person", str(firm.yard.tove.person.uid))
    expect(phone.locator("unsent-badge summary span")).to_have_text("1 not sent")
    phone.unroute("**/api/**")
    phone.goto(f"{firm.url}/my/")
    expect(phone.locator("ready-line[data-ready]")).to_have_count(1)
    assert phone.evaluate(kept) == [f"pages {firm.yard.tove.person.uid}"]
    phone.context.set_offline(True)
    phone.goto(f"{firm.url}/my/{code}/unbox")
    expect(phone.locator("h1")).to_have_text("No signal")
    phone.goto(f"{firm.url}/my/")
    expect(phone.locator("main")).not_to_contain_text(code)
    # Signing out without signal takes them away all the same.
    phone.get_by_role("button", name="Sign out").click()
    expect(phone.locator("h1")).to_have_text("No signal")
    phone.goto(f"{firm.url}/my/")
    expect(phone.locator("h1")).to_have_text("No signal")
    assert phone.evaluate(kept) == []
    assert firm.scans("unbox") == []
    leaves_only_what_was_not_sent(phone, firm)


KEPT = """async () => {
  const { asked } = await import("/static/inventory/database.js");
  const { rows } = await import("/static/inventory/store.js");
  const count = (name) => asked(name, (all) => all.count());
  const [tables, looked] = [await count("tables"), await count("looked")];
  const somebodys = Object.keys(localStorage).filter((key) => /^read |kept|hands/.test(key));
  return [(await rows("waiting")).length, tables, looked, somebodys.length, sessionStorage.length];
}"""


def leaves_only_what_was_not_sent(phone: Page, firm: Bench) -> None:
    """OWASP ASVS 5.0, 14.3.1: at the door nothing of anybody is left but that; then not even it."""
    settled = f"async () => JSON.stringify(await ({KEPT})()) === "
    phone.context.set_offline(False)
    phone.goto(f"{firm.url}/sign-in")
    phone.wait_for_function(f"{settled}'[1,0,1,0,0]'")  # one scan waits, with what was said of it
    firm.sign_in(phone, "tariq")
    phone.goto(f"{firm.url}/my/")
    expect(phone.locator("ready-line[data-ready]")).to_have_count(1)
    all_sent(phone)
    assert len(firm.scans("unbox")) == 1
    phone.evaluate(
        "() => { localStorage.setItem('read x', '1'); sessionStorage.setItem('y', '1'); }"
    )
    assert phone.evaluate(KEPT)[1:] == [1, 1, 2, 1]
    phone.get_by_role("button", name="Sign out").click()
    phone.wait_for_function(f"{settled}'[0,0,0,0,0]'")
    assert phone.evaluate("async () => (await caches.keys()).filter((n) => /^pages/.test(n))") == []
