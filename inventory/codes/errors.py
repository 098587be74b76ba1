"""Why a text is not read.

CodeError
 `- carries kind (one of the names in the vectors), message, candidates

One class: the caller acts on `kind`, a person reads `message`.
"""

from collections.abc import Sequence

Candidate = str | tuple[tuple[str, str], ...]
"""What may have been meant: a text, or element pairs such as (("10", "LOT7"), ("21", "A1"))."""


class CodeError(Exception):
    """A text that is refused; the message says what was expected and what came."""

    def __init__(self, kind: str, message: str, candidates: Sequence[Candidate] = ()) -> None:
        """`kind` is a short name for programs, `message` one sentence for people."""
        super().__init__(message)
        self.kind = kind
        self.message = message
        self.candidates = tuple(candidates)
