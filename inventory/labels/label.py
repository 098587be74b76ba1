"""One label as a value: what its codes carry and what people read on it."""

import re
from dataclasses import dataclass

from inventory.labels.errors import LabelRefused

KINDS = (
    *("unit", "carton", "bin", "place", "parcel", "bag", "kit", "van", "lot", "item"),
    *("person", "return", "command"),
)
MATRICES = ("datamatrix", "qr")

FNC1 = "\xf1"
"""How the encoders spell the GS1 function character one."""

LONGEST = 48
"""Characters a code may carry. Source: GS1 General Specifications 5.4.4.3 (GS1-128)."""

# Source: GS1 General Specifications, table "element strings with pre-defined length": the
# first two digits of identifiers whose values need no separator behind them.
PREDEFINED = frozenset(f"{n:02}" for n in (*range(5), *range(11, 21), *range(31, 37), 41))

PLAIN = re.compile(r"[!-~](?:[ -~]*[!-~])?")
IDENTIFIER = re.compile(r"[0-9]{2,4}")
CSET82 = re.compile(r"""[!"%&'()*+,\-./0-9:;<=>?A-Z_a-z]+""")
CONTROL = re.compile(r"[\x00-\x1f\x7f-\x9f]")


@dataclass(frozen=True, slots=True)
class Label:
    """A label. Exactly one of `code` and `pairs` is given, the other is empty.

    Raises LabelRefused. Check digits inside `pairs` are the caller's duty (inventory.codes).
    """

    kind: str  # one of KINDS; names the label in errors
    title: str  # large print, 1 to 60 characters; cut with an ellipsis where too wide
    code: str = ""  # plain text in both symbols: printable ASCII, no blank at either end
    pairs: tuple[tuple[str, str], ...] = ()  # GS1 (identifier, value), e.g. ("01", "0952...")
    lines: tuple[str, ...] = ()  # up to three lines of small print
    matrix: str = "datamatrix"  # the square symbol beside the line code: one of MATRICES

    def __post_init__(self) -> None:
        """Refuse what cannot be drawn or would be drawn as something else."""
        for expected, good, got in self._demands():
            if not good:
                raise LabelRefused(f"{self.name}: expected {expected}, got {got!r}")

    def _demands(self) -> list[tuple[str, bool, object]]:
        """Each as (what is expected, whether it holds, what came)."""
        texts = (self.title, *self.lines)
        return [
            (f"a kind out of {', '.join(KINDS)}", self.kind in KINDS, self.kind),
            (f"a matrix out of {', '.join(MATRICES)}", self.matrix in MATRICES, self.matrix),
            ("a title of 1 to 60 characters", 0 < len(self.title) <= 60, self.title),
            ("at most 3 lines", len(self.lines) <= 3, len(self.lines)),
            ("print without control characters", not any(map(CONTROL.search, texts)), texts),
            ("either a code or GS1 pairs", bool(self.code) != bool(self.pairs), self.human),
            (
                "a code of printable ASCII with no blank at either end",
                bool(self.pairs or PLAIN.fullmatch(self.code)),
                self.code,
            ),
            (
                "GS1 pairs (2 to 4 digits, characters of set 82)",
                all(IDENTIFIER.fullmatch(a) and CSET82.fullmatch(v) for a, v in self.pairs),
                self.pairs,
            ),
            (
                f"at most {LONGEST} characters in the code",
                len(self.carried) <= LONGEST,
                len(self.carried),
            ),
        ]

    @property
    def human(self) -> str:
        """What the codes carry, as people read it: `LB-000123`, or `(01)0952...(21)A1`."""
        return self.code or "".join(f"({identifier}){value}" for identifier, value in self.pairs)

    @property
    def carried(self) -> bytes:
        """The exact bytes a decoder must give back; a separator in GS1 data is 0x1D."""
        if self.code:
            return self.code.encode("ascii", "replace")
        return self.joined("\x1d").encode("ascii", "replace")

    @property
    def name(self) -> str:
        """How an error names this label."""
        return f"{self.kind} label {self.human or self.title}"

    def joined(self, separator: str) -> str:
        """The GS1 pairs as one element string, with a separator only where one is needed."""
        last = len(self.pairs) - 1
        return "".join(
            identifier
            + value
            + (separator if n < last and identifier[:2] not in PREDEFINED else "")
            for n, (identifier, value) in enumerate(self.pairs)
        )
