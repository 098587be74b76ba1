"""Somebody with a device in the hand: numbers the events and writes each as one line."""

from __future__ import annotations

import json
import random
import uuid
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from typing import Any

from inventory.ledger.ids import uuid7


@dataclass(slots=True)
class Clock:
    """The time of the story, and what chance there is in it: both begin from the seed."""

    rng: random.Random
    later: timedelta = timedelta()  # that the week is acted out after the one in the files
    now: datetime = datetime(2026, 11, 13, 14, 0, tzinfo=UTC)

    def __post_init__(self) -> None:
        """Begin on the Friday before the week."""
        self.now += self.later

    def set(self, day: int, hour: int, minute: int = 0) -> None:
        """Go on to this time of November 2026, as the files have it."""
        self.now = datetime(2026, 11, day, hour, minute, tzinfo=UTC) + self.later

    def tick(self, seconds: float | None = None) -> datetime:
        """Let some seconds pass, by default those of one scan."""
        self.now += timedelta(seconds=self.rng.uniform(4, 16) if seconds is None else seconds)
        return self.now

    def new_id(self) -> uuid.UUID:
        """An id as a browser makes it: of this moment, and the same again for the same seed."""
        return uuid7(int(self.now.timestamp() * 1000), self.rng.getrandbits(74))


@dataclass(slots=True)
class Hand:
    """One device of one person."""

    clock: Clock
    device: uuid.UUID
    subject: str = ""  # "kit:<code>" while working for a kit
    seq: int = 0
    sent: list[str] = field(default_factory=list)

    def line(self, step: str, text: str = "", via: str = "", **more: Any) -> str:
        """Return one event line. `start` is the field "from", `companion` the field "with"."""
        self.seq += 1
        names = {"start": "from", "companion": "with"}
        self.clock.tick()
        data: dict[str, Any] = {
            "v": 1,
            "id": str(self.clock.new_id()),
            "device": str(self.device),
            "seq": self.seq,
            "at": self.clock.now.isoformat(timespec="milliseconds").replace("+00:00", "Z"),
            "step": step,
            "text": text,
            "via": via,
            "subject": self.subject,
            **{names.get(name, name): value for name, value in more.items()},
        }
        kept = {name: value for name, value in data.items() if value not in (None, "")}
        line = json.dumps(kept, ensure_ascii=False, separators=(",", ":"))
        self.sent.append(line)
        return line
