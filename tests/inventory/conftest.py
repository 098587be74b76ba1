"""The firm that tests of the lower house work in."""

import pytest

from tests import firm
from tests.inventory import filling


@pytest.fixture
def shop(db: None) -> firm.Firm:
    """A firm in which nothing has happened."""
    return firm.build()


@pytest.fixture
def filled(db: None) -> firm.Firm:
    """A firm with a row in each table of the ledger."""
    return filling.build()
