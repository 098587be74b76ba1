"""The tests stand on the database that the run chose, set as the program sets it."""

from pathlib import Path

import pytest
from django.core.management import call_command
from django.db import connection
from django.db.backends.sqlite3.base import DatabaseWrapper
from django.db.utils import ConnectionHandler

from inventory.models import Person
from kitting.settings import database


def ask(question: str) -> str:
    with connection.cursor() as cursor:
        cursor.execute(question)
        return str(cursor.fetchone()[0])


@pytest.mark.django_db
@pytest.mark.sqlite_only
@pytest.mark.parametrize(
    ("pragma", "value"),
    [
        ("synchronous", "2"),  # FULL, by its number
        ("recursive_triggers", "1"),
        ("foreign_keys", "1"),
    ],
)
def test_sqlite_keeps_what_it_acknowledged(pragma: str, value: str) -> None:
    """Read back from the open connection, not from the settings."""
    assert ask(f"PRAGMA {pragma}") == value


@pytest.mark.postgres_only
@pytest.mark.django_db
def test_postgresql_is_the_servers_own_and_recent() -> None:
    """The second run meets a real server, of a version that is still cared for."""
    assert connection.vendor == "postgresql"
    assert int(ask("SHOW server_version_num")) >= 150000


@pytest.mark.django_db
def test_no_model_lacks_its_migration() -> None:
    """The tables are those of the models."""
    call_command("makemigrations", check=True, dry_run=True, verbosity=0)


@pytest.mark.sqlite_only
@pytest.mark.django_db
def test_wal_is_used_where_the_database_is_a_file(tmp_path: Path) -> None:
    """Readers and the one writer do not wait for each other."""
    description = database("NOT_SET", tmp_path / "stock.sqlite3")
    wrapper = DatabaseWrapper(ConnectionHandler({"default": description}).databases["default"])
    try:
        wrapper.connect()
        found = wrapper.connection.execute("PRAGMA journal_mode").fetchone()
    finally:
        wrapper.close()

    assert found == ("wal",)


@pytest.mark.django_db
def test_a_new_firm_has_nobody() -> None:
    """No account comes with the program: OWASP ASVS 5.0, 6.3.2."""
    assert not Person.objects.exists()
