"""Pages judged by axe-core at a phone's width: names, labels, roles, landmarks, contrast.

axe-core comes from npm into tests/browser/axe, held to the hashes of the lock there; it is no part
of the site. `python -m tests.axe` sees every route of the demo once (DATABASE_URL and
LASTBOLT_MEDIA name it, or it is walked anew); `make screens` judges all that each person may open.
"""

from __future__ import annotations

import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path

from playwright.sync_api import Page, sync_playwright

from tests.tree import TOP

SOURCE = TOP / "tests" / "browser" / "axe" / "node_modules" / "axe-core" / "axe.min.js"
LACKING = "axe-core is not installed: make setup says why. Left out: its judgement of the pages"
GRAVE = ("serious", "critical")
JUDGE = """() => axe.run(document, { resultTypes: ["violations"] }).then(({ violations }) =>
    violations.map(({ id, impact, help, nodes }) =>
        [impact, `${id}: ${help}: ${nodes.map((one) => one.html.slice(0, 120)).join(" | ")}`]))"""


def judged(page: Page) -> list[tuple[str, str]]:
    """Impact and words of each finding on the page that is open."""
    page.evaluate(SOURCE.read_text(encoding="utf-8"))
    return [(impact, words) for impact, words in page.evaluate(JUDGE)]


def stops() -> Iterator[tuple[tuple[str, str], list[str]]]:
    """Log-in and addresses: every route once, the first page of each person too."""
    from tests import screens, tours

    been = set(screens.FILES)
    for person, found in tours.tours().items():
        fresh = {route: address for route, address in found if route not in been}
        been |= {*fresh} - {"home"}
        yield person, list(fresh.values())


def tour(site: str) -> tuple[int, list[str], list[str]]:
    """How many pages were judged; what is grave, what is less."""
    from tests import screens
    from tests.browser.chromium import FLAGS, executable

    grave: list[str] = []
    lesser: list[str] = []
    seen = 0
    with sync_playwright() as play:
        browser = play.chromium.launch(executable_path=executable(), args=FLAGS)
        visits = screens.Visits(Path(), site=site)
        for person, addresses in stops():
            with screens.signed_in(browser, visits, person, "390") as page:
                for address in addresses:
                    page.goto(address)
                    seen += 1
                    for impact, words in judged(page):
                        told = f"{person[0] or 'stranger'} {address}: {impact}: {words}"
                        (grave if impact in GRAVE else lesser).append(told)
        browser.close()
    return seen, grave, lesser


def main() -> int:
    """Exit code 1 where a page has a grave finding."""
    from tests import screens

    if not SOURCE.exists():
        print(LACKING)
        return 0
    with tempfile.TemporaryDirectory(prefix="lastbolt-axe-") as scratch:
        screens.prepare(Path(scratch))
        with screens.served(Path(scratch) / "server.log") as site:
            seen, grave, lesser = tour(site)
    print(*lesser, *grave, sep="\n")
    print(f"axe: {len(grave)} serious or critical findings on {seen} pages, {len(lesser)} lesser")
    return 1 if grave else 0


if __name__ == "__main__":
    sys.exit(main())
