"""One chromium for all browser tests."""

import os
import shutil
from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, Page, sync_playwright

FLAGS = [
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--use-fake-ui-for-media-stream",
    "--use-fake-device-for-media-stream",
]


def executable() -> str:
    """The machine's own chromium; Playwright's download is not used."""
    for name in ("chromium", "chromium-browser"):
        if found := shutil.which(name):
            return found
    pytest.fail("no chromium on this machine: `make setup` says how to get it")


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
def page(chromium: Browser) -> Iterator[Page]:
    """A phone-sized page of a fresh visitor, which must end without an error on its console."""
    context = chromium.new_context(viewport={"width": 390, "height": 844})
    page = context.new_page()
    errors: list[str] = []
    page.on("console", lambda m: errors.append(m.text) if m.type == "error" else None)
    page.on("pageerror", lambda e: errors.append(str(e)))
    yield page
    context.close()
    assert errors == []
