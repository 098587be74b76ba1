"""Six writers want the same two hundred serials at the same moment: none is in two places.

Real processes, real commits, a database of their own on the run's PostgreSQL server.
"""

import os

import pytest

from tests.counts import counts
from tests.laws.processes import audit, own_database, run

WRITERS, SERIALS, TRIES = 6, counts(60, 200), 5


@pytest.mark.postgres_only
@pytest.mark.slow
def test_no_serial_is_claimed_twice() -> None:
    """Each claim arrives and is kept; one per serial is applied, the others a person decides."""
    with own_database(os.environ["DATABASE_URL"]) as url:
        told = run(url, "race", str(WRITERS), str(SERIALS))
        audit(url)

    assert told == {
        "moved": SERIALS,
        "doubled": 0,
        "applied": SERIALS,
        "claims": WRITERS * SERIALS,
    }


@pytest.mark.postgres_only
@pytest.mark.slow
def test_without_the_laws_a_serial_doubles() -> None:
    """The control: read, then write; within five tries a serial stands in two bins.

    Were nothing to double here, the test above would prove nothing.
    """
    doubled = 0
    for _ in range(TRIES):
        with own_database(os.environ["DATABASE_URL"]) as url:
            doubled += run(url, "naive", str(WRITERS), str(SERIALS))["doubled"]
        if doubled:
            break

    assert doubled > 0
