"""What every test stands on: which tests run on which database, quick passwords, own folders."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from django.conf import settings
from django.test import override_settings
from hypothesis import HealthCheck
from hypothesis import settings as hypothesis_settings

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

POSTGRESQL = settings.DATABASES["default"]["ENGINE"].endswith("postgresql")
DATABASE_FIXTURES = {"db", "transactional_db", "live_server", "django_db_reset_sequences"}


def uses_database(item: pytest.Item) -> bool:
    fixtures = set(getattr(item, "fixturenames", ()))
    return bool(
        fixtures & DATABASE_FIXTURES
        or item.get_closest_marker("django_db")
        or item.get_closest_marker("postgres_only")
    )


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """On PostgreSQL only what touches the database runs again; on SQLite say what was left out."""
    if POSTGRESQL:
        chosen = [item for item in items if uses_database(item)]
        config.hook.pytest_deselected(items=[item for item in items if item not in chosen])
        items[:] = chosen
        return
    for item in items:
        if item.get_closest_marker("postgres_only"):
            item.add_marker(pytest.mark.skip(reason="only on PostgreSQL: run `make test`"))


@pytest.fixture(scope="session", autouse=True)
def own_folders(tmp_path_factory: pytest.TempPathFactory) -> Iterator[None]:
    """Tests leave the developer's photos alone and need no `collectstatic`."""
    folder: Path = tmp_path_factory.mktemp("site")
    (folder / "no-collected-files").mkdir()
    with override_settings(
        MEDIA_ROOT=folder / "media",
        STATIC_ROOT=folder / "no-collected-files",
        # The real one takes a quarter of a second for each sign-in.
        PASSWORD_HASHERS=["django.contrib.auth.hashers.MD5PasswordHasher"],
    ):
        yield
