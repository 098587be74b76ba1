"""The cast in front of the pages, built once a module; each test's changes are rolled back."""

from collections.abc import Iterator
from typing import Any

import pytest

from tests import people
from tests.people import Cast


@pytest.fixture(scope="module")
def cast(django_db_setup: None, django_db_blocker: Any) -> Iterator[Cast]:
    with django_db_blocker.unblock(), people.scene() as found:
        yield found
