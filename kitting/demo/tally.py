"""What the walk counts, and its last line."""

from __future__ import annotations

import json
from dataclasses import asdict, dataclass


@dataclass(slots=True)
class Tally:
    """Counts of one walk."""

    pictures: int = 0  # photo-like pictures of our own labels
    read: int = 0  # of these, read by the picture reader
    typed: int = 0  # of these, typed by hand because no reader got them
    scans: int = 0  # events sent over HTTP that name a scanned or typed text
    refused: int = 0  # events that were stopped or refused, with the reason told
    duplicates: int = 0  # events sent a second time: nothing changed
    findings: int = 0  # problems opened, settled ones included
    closed: int = 0  # kits of the week that are empty and closed
    requests: int = 0  # over HTTP, by all people together
    digest: str = ""  # SHA-256 of the state at the end, see inventory.digest

    def last_line(self) -> str:
        """The line that a program reads."""
        return f"demo: {json.dumps(asdict(self))}"
