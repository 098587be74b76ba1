"""A yard with the invented tower, and a kit of it that is released."""

from typing import Any

import pytest

from kitting.models import Kit
from tests.kitting import yard as yards
from tests.kitting.yard import Yard


@pytest.fixture
def yard(db: None, settings: Any) -> Yard:
    """A firm that takes no spares, so that a kit is what its parts list says."""
    settings.KIT_CHANCE = 0
    return yards.build()


@pytest.fixture
def kit(yard: Yard) -> Kit:
    return yards.first_kit(yard)
