"""What `read` answers: readings, or a named refusal; never both, never neither."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from inventory.codes.associations import Elements
from inventory.codes.errors import Candidate
from inventory.codes.fields import Fields


@dataclass(frozen=True, slots=True)
class Reading:
    """One meaning of a text."""

    kind: str  # gs1, gtin, sscc, digital_link, iso15434, data_identifier, own, label, known
    text: str  # the text that was understood: without symbology identifier, ends, wrong case
    fields: Fields = field(default_factory=dict)  # gtin (14 digits), serial, lot, expiry (ISO)...
    elements: Elements = ()  # GS1 pairs in their order
    formats: tuple[tuple[str, Elements], ...] = ()  # ISO/IEC 15434: (indicator, pairs)
    warnings: tuple[str, ...] = ()  # short names of what was forgiven or is odd

    def as_json(self) -> dict[str, Any]:
        """Return the shape of `manage.py read --json`."""
        return {
            "kind": self.kind,
            "text": self.text,
            "fields": dict(self.fields),
            "elements": [list(pair) for pair in self.elements],
            "formats": [[name, [list(pair) for pair in pairs]] for name, pairs in self.formats],
            "warnings": list(self.warnings),
        }


@dataclass(frozen=True, slots=True)
class Refused:
    """Why a text has no reading."""

    kind: str  # a short name for programs, as in the vectors
    message: str  # one sentence: expected X, got Y
    candidates: tuple[Candidate, ...] = ()  # what may have been meant; a person decides

    def as_json(self) -> dict[str, Any]:
        """Return the shape of `manage.py read --json`."""
        return {
            "kind": self.kind,
            "message": self.message,
            "candidates": [
                c if isinstance(c, str) else [list(pair) for pair in c] for c in self.candidates
            ],
        }


@dataclass(frozen=True, slots=True)
class Answer:
    """Everything a text may mean; `refused` is None exactly when there are readings."""

    input: str  # the text as it came
    readings: tuple[Reading, ...] = ()
    refused: Refused | None = None

    def as_json(self) -> dict[str, Any]:
        """Return the shape of `manage.py read --json`."""
        return {
            "input": self.input,
            "readings": [reading.as_json() for reading in self.readings],
            "refused": self.refused.as_json() if self.refused else None,
        }


Context = Mapping[str, object]
"""What is known about the device: see `inventory.codes.reading`."""
