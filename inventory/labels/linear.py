"""The line code of a label: Code 128 (ISO/IEC 15417), with FNC1 first where the data are GS1."""

from barcode.codex import Code128, Gs1_128

from inventory.labels.errors import LabelRefused
from inventory.labels.label import FNC1, Label

QUIET = 10
"""Modules left white on each side. Source: GS1 General Specifications 5.4.4.2."""


class _Code128(Code128):  # type: ignore[misc]  # the library carries no types
    """python-barcode takes a leading data pair 99 for "change to set C" and loses it."""

    def _try_to_optimize(self, encoded: list[int]) -> list[int]:
        if self.code.startswith("99"):
            return encoded
        return list(super()._try_to_optimize(encoded))


def modules(label: Label) -> str:
    """The bars of the label's line code as one string of "1" (dark) and "0", no quiet zones.

    Raises LabelRefused where the encoder knows no sign for a character.
    """
    try:
        symbol = Gs1_128(label.joined(FNC1)) if label.pairs else _Code128(label.code)
        return str(symbol.build()[0])
    except Exception as fault:  # the library raises KeyError, RuntimeError and its own kinds
        raise LabelRefused(f"{label.name}: expected text for a line code, got {fault}") from fault
