"""A technician's pages in a made-up language two fifths longer, on the narrowest phone."""

import re
from typing import Literal

import pytest
from django.utils.translation import trans_real
from playwright.sync_api import Browser, Route, expect

from kitting.models import Site
from tests.browser import bench
from tests.browser.test_senses import CUT, WIDE
from tests.stretched import Stretched, stretched
from tests.tree import TOP

SCRIPTS = TOP / "inventory" / "static" / "inventory"
RULES = (TOP / "tests" / "page_rules.js").read_text(encoding="utf-8")
SCHEMES: tuple[Literal["light", "dark"], ...] = ("light", "dark")
ROW = re.compile(r'^  "((?:[^"\\]|\\.)*)": "(?:[^"\\]|\\.)*",$', re.MULTILINE)
BESIDE = (
    *("/sites/", "/figures/", "/scanner/", "/kits/J1001-1/why?item=CT-BOLT6"),
    *("/my/own/sign-in", "/my/own/second-factor", "/my/bag", "/my/J9/"),
)
STEPS = ("", *("load", "unbox", "fit", "start", "down", "swap", "missing", "problem", "differs"))


def drawn_out(route: Route) -> None:
    """A table of the scripts' sentences with each as long as the pages' are."""
    name = re.search(r"(?:words|record|answers|readings)-de", route.request.url)
    assert name
    text = (SCRIPTS / f"{name[0]}.js").read_text(encoding="utf-8")
    body = ROW.sub(lambda row: f'  "{row[1]}": "{stretched(row[1])}",', text)
    route.fulfill(body=body, content_type="text/javascript")


def test_nothing_is_cut_where_words_are_longer(
    chromium: Browser, live_server, monkeypatch: pytest.MonkeyPatch
) -> None:
    """At 320 px no page scrolls sideways, no control loses its words, nothing is under 48 px, no
    text under 7:1 in either theme; what scripts write is in the language too."""
    monkeypatch.setitem(trans_real._translations, "de", Stretched())
    served = bench.served(live_server.url)
    # A page kept for use without signal would bring tables that were kept with it.
    context = chromium.new_context(viewport={"width": 320, "height": 640}, service_workers="block")
    page = context.new_page()
    page.route(re.compile(r"/(words|record|answers|readings)-de[^/]*\.js"), drawn_out)
    served.sign_in(page, "tariq")
    context.add_cookies([{"name": "lastbolt_language", "value": "de", "url": served.url}])
    faults = []
    site = Site.objects.select_related("place").get(jobs__code="J1001").place.code
    sites = (f"/sites/{site}/", f"/sites/{site}/describe?family=tower")
    for address in ("/my/", *(f"/my/J1001/{step}" for step in (*STEPS, "back")), *BESIDE, *sites):
        page.goto(f"{served.url}{address}")
        expect(page.locator("unsent-badge summary")).to_contain_text(stretched("All sent"))
        page.locator("details:not(unsent-badge *)").evaluate_all(
            "(every) => every.forEach((one) => { one.open = true; })"
        )
        for scheme in SCHEMES:
            page.emulate_media(color_scheme=scheme)
            found = page.evaluate(RULES, {"phone": True})
            faults += [f"{address} ({scheme}): {one}" for one in found]
        # Text to 200 % (WCAG 2.2, 1.4.4), with everything open.
        page.evaluate("document.documentElement.style.fontSize = '200%'")
        if page.evaluate("document.documentElement.scrollWidth > innerWidth"):
            faults.append(f"{address} at 200 % is too wide: {page.evaluate(WIDE)}")
        faults += [f"{address} at 200 % cuts {one!r}" for one in page.evaluate(CUT)]
    context.close()

    assert faults == [], "\n".join(faults)
