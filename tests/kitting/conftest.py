"""A yard with the invented tower, and a kit of it that is released."""

import pytest

from kitting.models import Kit
from tests.kitting import yard as yards
from tests.kitting.yard import Yard


@pytest.fixture
def yard(db: None) -> Yard:
    return yards.build()


@pytest.fixture
def kit(yard: Yard) -> Kit:
    return yard.kit()
