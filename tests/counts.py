"""How many examples a law or a simulation runs: reduced in `make test`, full in `make prove`."""

import os

FULL = os.environ.get("COUNTS") == "full"


def counts(reduced: int, full: int) -> int:
    """The number to run now."""
    return full if FULL else reduced
