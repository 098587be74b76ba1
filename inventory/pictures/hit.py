"""One symbol found in a picture: what a decoder says, before anyone believes it."""

from dataclasses import dataclass

LINEAR = frozenset({"Code128", "GS1-128", "Code39", "EAN13", "UPCA", "ITF"})
RETAIL = frozenset({"EAN13", "UPCA"})
SYMBOLOGIES = (
    *sorted(LINEAR),
    *("QR", "GS1QR", "DataMatrix", "GS1DataMatrix", "Aztec", "PDF417"),
)


@dataclass(frozen=True, slots=True)
class Hit:
    """A text that a decoder read. The same text from two decoders is two hits."""

    text: str  # as the symbol carries it; a GS1 separator is the character 0x1D
    symbology: str  # one of SYMBOLOGIES; the GS1 ones only where the symbol says so itself
    box: tuple[int, int, int, int]  # x, y, width, height in px of the upright picture
    sure: bool = True  # False: by the decoder's own measure wrong reads look like this one
    step: str = ""  # of the chain in inventory.pictures.decoding

    @property
    def decoder(self) -> str:
        """Which decoder the step used: steps are named by it first."""
        return self.step.partition(" ")[0]


def same_symbol(one: Hit, other: Hit) -> bool:
    """Whether the hits lie on one another: the middle of either is within the other's box.

    Boxes of line codes can be a few px high, so they are widened by a tenth of their width.
    """
    return _holds(one.box, other.box) or _holds(other.box, one.box)


def _holds(box: tuple[int, int, int, int], other: tuple[int, int, int, int]) -> bool:
    x, y, width, height = box
    edge = max(width, height) / 10
    middle_x, middle_y = other[0] + other[2] / 2, other[1] + other[3] / 2
    return x - edge <= middle_x <= x + width + edge and y - edge <= middle_y <= y + height + edge
