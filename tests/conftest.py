"""What every test stands on: which tests run on which database, quick passwords, own folders."""

import gc
import os
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any
from unittest import mock

import pytest
from django.conf import settings
from django.db.backends.signals import connection_created
from django.db.migrations.loader import MigrationLoader
from django.test import override_settings
from hypothesis import HealthCheck
from hypothesis import settings as hypothesis_settings

from tests import postgres, rooms, tables
from tests.counts import FULL

# The machine may be busy with other work: a slow example is not a failure.
hypothesis_settings.register_profile(
    "lastbolt",
    deadline=None,
    suppress_health_check=[HealthCheck.too_slow],
    derandomize=not FULL,  # `make test` gives the same answer twice; `make prove` looks further
    max_examples=1000 if FULL else 50,
)
hypothesis_settings.load_profile("lastbolt")

# Python looks through all that was collected for cycles every few thousand objects: a tenth of the
# whole run. What is there once the tests are collected stays to the end.
gc.set_threshold(50_000, 20, 50)

POSTGRESQL = settings.DATABASES["default"]["ENGINE"].endswith("postgresql")
TOP = Path(__file__).parents[1]
BROWSER_TESTS = TOP / rooms.BROWSER
PURE_TESTS = [TOP / folder for folder in rooms.PURE]
DATABASE_FIXTURES = {"db", "transactional_db", "live_server", "django_db_reset_sequences"}


def uses_database(item: pytest.Item) -> bool:
    fixtures = set(getattr(item, "fixturenames", ()))
    return bool(
        fixtures & DATABASE_FIXTURES
        or item.get_closest_marker("django_db")
        or item.get_closest_marker("postgres_only")
    )


def runs_here(item: pytest.Item) -> bool:
    """On PostgreSQL only what touches the database runs again, and may end otherwise there."""
    if POSTGRESQL:
        once = item.nodeid.split("[")[0] in rooms.ON_ONE_DATABASE
        return uses_database(item) and not once and not item.get_closest_marker("sqlite_only")
    if item.get_closest_marker("postgres_only"):
        item.add_marker(pytest.mark.skip(reason="only on PostgreSQL: run `make test`"))
    return True


@pytest.hookimpl(tryfirst=True)  # before -m looks at the markers
def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    for item in items:
        if item.path.is_relative_to(BROWSER_TESTS):
            item.add_marker(pytest.mark.browser)
        if any(map(item.path.is_relative_to, PURE_TESTS)):
            item.add_marker(pytest.mark.pure)
            if uses_database(item):  # the part on PostgreSQL does not look there
                raise pytest.UsageError(f"expected no database in a pure room, got {item.nodeid}")
    left_out = [item for item in items if not runs_here(item)]
    config.hook.pytest_deselected(items=left_out)
    items[:] = [item for item in items if item not in left_out]
    # Once a browser is driven, an event loop runs in this thread: that comes after all others.
    items.sort(key=lambda item: item.path.is_relative_to(BROWSER_TESTS))


def pytest_collection_finish() -> None:
    gc.freeze()


class Clock:
    """What time it is for the program under test."""

    ahead = timedelta(0)  # by which the machine's clock is ahead of the firm's
    in_browser = False  # whether a test of pages in a browser runs: its clock is the machine's

    def __call__(self) -> datetime:
        now = datetime.now(UTC)
        return now if self.in_browser else now - self.ahead


CLOCK = Clock()


@pytest.hookimpl(tryfirst=True)  # before any fixture enters something
def pytest_runtest_setup(item: pytest.Item) -> None:
    CLOCK.in_browser = item.path.is_relative_to(BROWSER_TESTS)


@pytest.fixture(scope="session", autouse=True)
def the_firm_s_day() -> Iterator[None]:
    """It is the morning on which the tests' firm works, and the clock goes on from there.

    Whatever day it is; not in a browser, whose own clock is the machine's.
    """
    from tests.firm import NOW  # its models need Django set up

    MigrationLoader(None)  # migrations name the real clock, as the models do: read them before
    CLOCK.ahead = datetime.now(UTC) - NOW
    with mock.patch("django.utils.timezone.now", CLOCK):
        yield


@pytest.fixture(scope="session", autouse=True)
def own_folders(tmp_path_factory: pytest.TempPathFactory, django_db_blocker: Any) -> Iterator[None]:
    """Tests leave the developer's photos alone and need no `collectstatic`."""
    folder: Path = tmp_path_factory.mktemp("site")
    (folder / "no-collected-files").mkdir()
    with override_settings(
        MEDIA_ROOT=folder / "media",
        STATIC_ROOT=folder / "no-collected-files",
        # The real one takes a quarter of a second for each sign-in.
        PASSWORD_HASHERS=["django.contrib.auth.hashers.MD5PasswordHasher"],
    ):
        os.environ[tables.KEPT] = str(folder / "tables.sqlite3")
        yield
        with django_db_blocker.unblock():
            tables.forget()


@pytest.fixture(scope="session")
def django_db_setup(django_db_setup: None, django_db_blocker: Any, own_folders: None) -> None:
    """The tables, made once for the tests and for the programs that they start."""
    with django_db_blocker.unblock():
        tables.keep()
    connection_created.connect(postgres.keeps_statements)


TRANSACTIONAL = {"transactional_db", "live_server", "django_db_reset_sequences"}


@pytest.fixture(autouse=True)
def lift_the_guard_for_the_flush(request: pytest.FixtureRequest) -> Iterator[None]:
    """A test that really commits is flushed at its end; the flush makes the triggers anew."""
    marker = request.node.get_closest_marker("django_db")
    commits = marker is not None and marker.kwargs.get("transaction", False)
    if not commits and not TRANSACTIONAL & set(request.fixturenames):
        yield
        return
    # Set up after the database fixture, so taken down before it flushes.
    request.getfixturevalue("transactional_db")
    yield
    from django.db import connection

    from inventory.models import guard

    guard.remove(connection)
