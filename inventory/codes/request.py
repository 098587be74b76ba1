"""One question to `read`, with everything that bears on the answer."""

import datetime as dt
from dataclasses import dataclass, replace

from inventory.codes.answer import Context
from inventory.codes.known import Known


@dataclass(frozen=True, slots=True)
class Request:
    """A text and where it comes from."""

    text: str  # cleaned of what the way adds at the ends
    via: str  # one of cleaning.VIAS; empty where nobody says
    known: Known
    context: Context

    def asks(self, name: str) -> str:
        """Return a context value as text, empty where it is absent."""
        value = self.context.get(name)
        return value if isinstance(value, str) else ""

    def instead(self, text: str) -> "Request":
        """Return the same question about another text."""
        return replace(self, text=text)

    @property
    def year(self) -> int:
        """The year that two-digit years are read from: context `year`, else now."""
        value = self.context.get("year")
        return value if isinstance(value, int) else dt.datetime.now(tz=dt.UTC).year

    @property
    def sends_separators(self) -> bool:
        """Whether the device is known to deliver group separators."""
        return self.via in ("symbol", "paired") or bool(self.asks("separator"))
