"""One chromium for all browser tests."""

import os
from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, Page, ViewportSize, expect, sync_playwright

from tests.browser import bench
from tests.browser.bench import Bench
from tests.browser.chromium import FLAGS, executable

PHONE: ViewportSize = {"width": 390, "height": 844}
PATIENCE = 20_000  # ms until a page shows what is expected of it: machines are busy
expect.set_options(timeout=PATIENCE)


@pytest.fixture(scope="session")
def django_db_modify_db_settings(tmp_path_factory: pytest.TempPathFactory) -> None:
    """A file: threads that share one database in memory lock its tables and never wait."""
    from django.db import connection

    if connection.vendor == "sqlite":
        name = tmp_path_factory.mktemp("browser") / "test.sqlite3"
        connection.settings_dict["TEST"]["NAME"] = str(name)


@pytest.fixture(scope="session")
def chromium() -> Iterator[Browser]:
    # Playwright's loop lives in this thread, and Django refuses its ORM there unless told.
    os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"] = "1"
    with sync_playwright() as play:
        browser = play.chromium.launch(executable_path=executable(), args=FLAGS)
        yield browser
        browser.close()


@pytest.fixture
def at_bench(live_server) -> Bench:
    """A served firm with one kit to pick."""
    return bench.served(live_server.url)


@pytest.fixture
def unwatched(chromium: Browser) -> Iterator[Page]:
    """A phone-sized page that may log errors: without signal each attempt is one, as asked for."""
    context = chromium.new_context(viewport=PHONE)
    yield context.new_page()
    context.close()


@pytest.fixture
def page(chromium: Browser) -> Iterator[Page]:
    """A phone-sized page of a fresh visitor, which must end without an error on its console."""
    context = chromium.new_context(viewport=PHONE)
    page = context.new_page()
    errors: list[str] = []
    page.on("console", lambda m: errors.append(m.text) if m.type == "error" else None)
    page.on("pageerror", lambda e: errors.append(str(e)))
    yield page
    context.close()
    assert errors == []
