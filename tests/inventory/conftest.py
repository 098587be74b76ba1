"""The firm that tests of the lower house work in."""

import pytest

from tests import firm


@pytest.fixture
def shop(db: None) -> firm.Firm:
    return firm.build()
