"""Real photographs of other people's codes, with what stands in them.

They lie beside the project, not in it (they show real goods), with their truth, sources and
licences in truth.json: zxing/zxing and zxing-cpp/zxing-cpp (Apache-2.0), ericblade/quagga2 (MIT).
No text of theirs stands in the project: truth is read when it is asked for.
"""

import hashlib
import json
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from inventory.pictures.hit import RETAIL
from tests.pictures.singles import near
from tests.tree import TOP

FOLDER: Path = TOP.parent / "shared" / "reference" / "pictures"

SECOND = "fd586d7d"
"""Begin of the hash of a photograph that truly carries a second code, another one's truth."""


@dataclass(frozen=True, slots=True)
class Photograph:
    """One file and its truth."""

    file: str
    sha256: str
    text: str  # empty where there is no code
    symbology: str  # NONE where there is no code

    @property
    def even(self) -> bool:
        """Whether it is of the half that steps were chosen over; the other half is for reports."""
        return int(self.sha256, 16) % 2 == 0

    def data(self) -> bytes:
        """The file's bytes, its hash checked."""
        data = (FOLDER / self.file).read_bytes()
        if hashlib.sha256(data).hexdigest() != self.sha256:
            raise ValueError(f"{self.file}: expected the file that truth.json names, got another")
        return data


@cache
def photographs() -> tuple[Photograph, ...]:
    """All of them, in the order of truth.json; none where they do not lie beside the project."""
    path = FOLDER / "truth.json"
    if not path.is_file():
        return ()
    return tuple(
        Photograph(entry["file"], entry["sha256"], entry["text"] or "", entry["symbology"])
        for entry in json.loads(path.read_text(encoding="utf-8"))
    )


def known() -> set[str]:
    """Every true text, and a near miss of each."""
    coded = [each for each in photographs() if each.text]
    return {text for each in coded for text in (each.text, near(each.text, each.symbology))}


def form(text: str, symbology: str) -> str:
    """EAN-13 and UPC-A as 14 digits, others as they are."""
    return text.zfill(14) if symbology in RETAIL else text
