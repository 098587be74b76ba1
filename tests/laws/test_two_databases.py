"""The same lines give the same state on both databases, and again when they are taken anew."""

import os
from pathlib import Path

import pytest

from tests.laws.processes import audit, own_database, run


@pytest.mark.postgres_only
@pytest.mark.slow
def test_the_same_day_has_the_same_digest(tmp_path: Path) -> None:
    """I19: a seeded day, on PostgreSQL and twice on SQLite."""
    with own_database(os.environ["DATABASE_URL"]) as url:
        digests = [run(url, "replay")]
        audit(url)
    files = [f"sqlite:///{tmp_path}/{name}.sqlite3" for name in ("one", "two")]
    digests += [run(url, "replay") for url in files]

    assert len(digests[0]) == 64
    assert digests == [digests[0]] * 3
