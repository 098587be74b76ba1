"""That calls change nothing: what the tables hold, and whether a row was written at all."""

from collections.abc import Iterator
from contextlib import contextmanager

from django.apps import apps
from django.db import connection

from inventory.digest import digest
from inventory.models import SignIn

State = tuple[str, dict[str, int]]


def state() -> State:
    """The digest of the audit, and how many rows each table has (people, photos, notes too)."""
    models = [*apps.get_app_config("inventory").get_models()]
    models += apps.get_app_config("kitting").get_models()
    models.remove(SignIn)  # whoever is turned away may still sign out
    return digest(), {model.__name__: model._default_manager.count() for model in models}


@contextmanager
def unchanged(before: State) -> Iterator[None]:
    """The state after is the one before. Only on SQLite, which counts the rows written on its
    connection, those taken back too: where it counted none, a look at every row can find none."""
    written = connection.connection.total_changes
    yield
    if connection.connection.total_changes != written:
        assert state() == before
