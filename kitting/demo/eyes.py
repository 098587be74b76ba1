"""Reading labels: each scan looks at a photo-like picture of the label, made from the seed.

What no reader gets is typed from the print under the code. A wrong read would end the walk.
"""

from __future__ import annotations

import random
from dataclasses import dataclass, field

from inventory import photos
from inventory.labels.label import Label
from inventory.labels.png import png
from inventory.pictures.likeness import photo_of
from inventory.pictures.reading import read_photo
from kitting.demo.tally import Tally
from kitting.demo.visitor import Unexpected, Visitor


@dataclass(slots=True)
class Eyes:
    """Both ways of reading: the bench's own reader, and a photo that the server reads."""

    rng: random.Random
    tally: Tally
    most: int | None = None  # pictures; further labels are taken as read (for short tests)
    listed: set[str] = field(default_factory=set)  # texts of the supplier's delivery note

    def scanner(self, label: Label) -> tuple[str, str]:
        """Read at the bench; return the text and how it came."""
        if self.tally.pictures == self.most:
            return label.carried.decode("ascii"), "keys"
        answer = read_photo(self._picture(label), self._known)
        return self._text(label, [code.text for code in answer.codes if code.accepted], "keys")

    def phone(self, label: Label, visitor: Visitor) -> tuple[str, str]:
        """Photograph with a phone; the server reads, as on the page for photos."""
        if self.tally.pictures == self.most:
            return label.carried.decode("ascii"), "symbol"
        answer = visitor.send_file("/api/read", self._picture(label))
        codes = [str(code["text"]) for code in answer["codes"] if code["accepted"]]
        return self._text(label, codes, "photo")

    def _picture(self, label: Label) -> bytes:
        self.tally.pictures += 1
        return photo_of(png(label), self.rng)

    def _known(self, text: str, symbology: str) -> str | None:
        return photos.known(text, symbology) or (text if text in self.listed else None)

    def _text(self, label: Label, found: list[str], via: str) -> tuple[str, str]:
        carried = label.carried.decode("ascii")
        wrong = [text for text in found if text != carried]
        if wrong:
            raise Unexpected(f"{label.name}: expected {carried!r} or nothing, got {wrong[0]!r}")
        if found:
            self.tally.read += 1
            return carried, via
        self.tally.typed += 1
        return label.human, "hand"
