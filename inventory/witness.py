"""What somebody outside noted of the record, held against the record as it is now.

A record that was put back to an earlier state, or written anew from some entry on, agrees with
itself: only who noted its mark can tell. Marks stand on sheets and in each answer to a phone.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from inventory.checks.report import Check, Report
from inventory.ledger import check_proof
from inventory.ledger.inclusion import consistency, hashes
from inventory.models import Event, RecordMark
from inventory.proving import entries_up_to

_MARK = re.compile(r"0*([1-9][0-9]{0,17}):([0-9a-f]{64})")


@dataclass(frozen=True, slots=True)
class Noted:
    """A record mark as somebody wrote it down."""

    size: int  # entries, from 1
    root: bytes  # 32 bytes

    def check(self) -> Check:
        """Return the check that the record was only added to since."""
        return Check(f"only added to since {self.size}", Event, self._report)

    def _report(self) -> Report:
        latest = RecordMark.objects.order_by("-size").first()
        size, root = (latest.size, bytes.fromhex(latest.root)) if latest else (0, b"")
        if self.size > size:
            words = (
                f"expected at least {self.size} entries, as were noted, got {size}:"
                " later ones are gone, or an old copy of the database was put back"
            )
            return Report(size, [words])
        path = consistency(self.size, size)
        found = hashes(entries_up_to(size), path)
        told = [found[part] for part in path]
        report = Report(self.size)
        report.expect(
            check_proof.grown(self.size, self.root, size, root, told),
            f"the first {self.size} entries are not those that were noted with this root:"
            " the record was written anew",
        )
        return report


def noted(text: str) -> Noted:
    """Read a mark as it is printed, SIZE:ROOT; blanks do not count. Raises ValueError."""
    read = _MARK.fullmatch("".join(text.split()).lower())
    if read is None:
        raise ValueError(f"expected SIZE:ROOT, a number and 64 hexadecimal digits, got {text!r}")
    return Noted(int(read[1]), bytes.fromhex(read[2]))
