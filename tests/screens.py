"""`make screens`: visit every page as each person at two widths, judge it, take its picture.

The pages show the firm of `make demo` after its walk (DATABASE_URL and LASTBOLT_MEDIA name another
one). What fails: a sideways scroll, an error on the console, a report of the content policy, what
tests/page_rules.js forbids, a page of tests/cast.csv that nobody visited. All pictures go to the
folder given as the first argument, by default a new one outside the tree. Where axe-core is
installed it judges each page at the phone's width.
"""

from __future__ import annotations

import os
import socket
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path

from PIL import Image
from playwright.sync_api import Browser, Error, Page, sync_playwright

from tests import axe
from tests.browser.chromium import FLAGS, executable
from tests.tree import TOP

RULES = (Path(__file__).parent / "page_rules.js").read_text(encoding="utf-8")
README = TOP / "fixtures" / "screens"
WIDTHS = {"390": (390, 844), "1280": (1280, 900)}
FILES = (  # routes that answer with a file: it must only arrive
    *("photo_file", "photo_progress", "kit_labels", "kit_pick_sheet", "job_site_sheet"),
    *("job_hand_over", "scanner_code", "scanner_sheet", "wall_sheet", "badge_holds"),
    *("list_template", "list_text", "claim_file", "table_out", "manifest", "worker"),
)
HEAVIEST = 150_000  # bytes of a picture in the README
BLOCKED = "blocked by content policy"  # how the server logs a report


@dataclass(slots=True)
class Visits:
    """What was seen, and what was wrong with it."""

    folder: Path  # for the pictures
    site: str = ""
    faults: list[str] = field(default_factory=list)
    routes: set[str] = field(default_factory=set)
    pictures: int = 0


def prepare(scratch: Path) -> None:
    """Choose the database, fill a new one by the walk of the demo, collect the static files unless
    the caller did, whose LASTBOLT_STATIC names their folder."""
    os.environ |= {
        "DJANGO_SETTINGS_MODULE": "kitting.settings",
        "DJANGO_ALLOW_ASYNC_UNSAFE": "1",  # Playwright's loop lives in this thread
        "LASTBOLT_CSP_REPORTS": "yes",
    }
    if "LASTBOLT_STATIC" not in os.environ:
        os.environ["LASTBOLT_STATIC"] = str(scratch / "static")
        manage("collectstatic", "--noinput", "--verbosity", "0")
    if "DATABASE_URL" not in os.environ:
        os.environ["DATABASE_URL"] = f"sqlite:///{scratch / 'demo.sqlite3'}"
        os.environ["LASTBOLT_MEDIA"] = str(scratch / "media")
        manage("migrate", "--verbosity", "0")
        print("screens: the demo walks its week", flush=True)
        manage("demo_walk", "--monday", "2026-11-16")  # the pictures change with the pages alone


def manage(*words: str) -> None:
    command = [sys.executable, "manage.py", *words]
    done = subprocess.run(command, cwd=TOP, capture_output=True, text=True, check=False)
    if done.returncode:
        sys.exit(f"manage.py {words[0]}: {done.stderr.strip()}")


@contextmanager
def served(log: Path) -> Iterator[str]:
    """The address of our own server, whose log goes to that file."""
    with socket.socket() as door, log.open("w") as out:
        door.bind(("127.0.0.1", 0))
        door.listen(64)
        command = [sys.executable, "-m", "gunicorn", "kitting.wsgi", "--no-control-socket"]
        command += ["--bind", f"fd://{door.fileno()}", "--worker-class", "gthread"]
        command += ["--threads", "4", "--log-level", "warning"]
        server = subprocess.Popen(command, cwd=TOP, stderr=out, pass_fds=[door.fileno()])
        try:
            yield f"http://127.0.0.1:{door.getsockname()[1]}"
        finally:
            server.terminate()
            server.wait(timeout=30)


@contextmanager
def signed_in(
    browser: Browser, visits: Visits, person: tuple[str, str], width: str
) -> Iterator[Page]:
    """A page of somebody who signed in, or of a stranger; errors on its console are faults."""
    name, password = person
    wide, high = WIDTHS[width]
    context = browser.new_context(viewport={"width": wide, "height": high}, base_url=visits.site)
    page = context.new_page()

    def fault(words: str) -> None:
        # One moment goes without signal on purpose; the browser grumbles by itself.
        if "ERR_INTERNET_DISCONNECTED" in words:
            return
        visits.faults.append(f"{name} {width} {page.url}: console: {words}")

    page.on("console", lambda said: fault(said.text) if said.type == "error" else None)
    page.on("pageerror", lambda error: fault(str(error)))
    if name:
        page.goto("/sign-in")
        page.fill("[name=username]", name)
        page.fill("[name=password]", password)
        page.click("main button")
    yield page
    context.close()


def visit(page: Page, visits: Visits, route: str, address: str, picture: str) -> None:
    """Open one page and judge it; what is no page (PDF, photo) must only arrive."""
    visits.routes.add(route)
    if route in FILES:
        status = page.request.get(address).status
        if status != 200:
            visits.faults.append(f"{picture} {address}: expected 200, got {status}")
        return
    answer = page.goto(address)
    if answer is None or answer.status != 200:
        status = answer.status if answer else 0
        visits.faults.append(f"{picture} {address}: expected 200, got {status}")
    look(page, visits, picture)


def look(page: Page, visits: Visits, picture: str) -> None:
    """Judge what a page shows now, in light and dark, and take its picture."""
    page.wait_for_load_state("load")
    phone = picture.endswith("390")
    for scheme in ("dark", "light") if phone else ("light",):
        page.emulate_media(color_scheme=scheme)  # type: ignore[arg-type]
        found = page.evaluate(RULES, {"phone": phone})
        visits.faults += [f"{picture} ({scheme}): {words}" for words in found]
    if phone and axe.SOURCE.exists():
        grave = [words for impact, words in axe.judged(page) if impact in axe.GRAVE]
        visits.faults += [f"{picture}: {words}" for words in grave]
    page.screenshot(path=visits.folder / f"{picture}.png", full_page=True)
    visits.pictures += 1


def keep(page: Page, name: str) -> None:
    """Take a picture for the README: few colours, no more bytes than HEAVIEST."""
    README.mkdir(exist_ok=True)
    file = README / f"{name}.png"
    page.screenshot(path=file)
    with Image.open(file) as image:
        small = image.convert("RGB").quantize(64, dither=Image.Dither.NONE)
    small.save(file, optimize=True)
    if file.stat().st_size > HEAVIEST:
        raise ValueError(f"{file.name}: expected at most {HEAVIEST} bytes")


def tour(visits: Visits) -> None:
    """Everybody goes everywhere at both widths, then does some things and looks again."""
    from tests import tours

    with sync_playwright() as play:
        browser = play.chromium.launch(executable_path=executable(), args=FLAGS)
        for person, stops in tours.tours().items():
            for width in WIDTHS:
                with signed_in(browser, visits, person, width) as page:
                    for number, (route, address) in enumerate(stops, 1):
                        picture = f"{person[0] or 'stranger'}-{number:02}-{route}-{width}"
                        visit(page, visits, route, address, picture)
        for moment in tours.moments():
            with signed_in(browser, visits, moment.person, moment.width) as page:
                try:
                    moment.act(page)
                except Error as fault:
                    visits.faults.append(f"{moment.act.__name__} {moment.width}: {fault.message}")
                visits.routes.add(tours.route_of(page.url))
                look(page, visits, f"{moment.person[0]}-{moment.act.__name__}-{moment.width}")
                if moment.readme:
                    keep(page, moment.readme)
        browser.close()
    left_out = tours.pages() - visits.routes
    visits.faults += [f"{route}: a page that nobody visited" for route in sorted(left_out)]


def main(folder: Path) -> int:
    """Exit code 1 if anything is wrong with any page."""
    folder.mkdir(parents=True, exist_ok=True)
    if not axe.SOURCE.exists():
        print(axe.LACKING)
    visits = Visits(folder)
    with tempfile.TemporaryDirectory(prefix="lastbolt-screens-") as scratch:
        prepare(Path(scratch))
        log = Path(scratch) / "server.log"
        with served(log) as visits.site:
            tour(visits)
        said = log.read_text(encoding="utf-8").splitlines()
    visits.faults += [line for line in said if BLOCKED in line or "Traceback" in line]
    print(*visits.faults, sep="\n")
    print(f"screens: {visits.pictures} pictures of {len(visits.routes)} routes in {folder}")
    print(f"screens: {len(visits.faults)} faults")
    return 1 if visits.faults else 0


if __name__ == "__main__":
    sys.exit(main(Path(sys.argv[1] if len(sys.argv) > 1 else tempfile.mkdtemp(prefix="screens-"))))
