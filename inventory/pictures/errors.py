"""What can go wrong with a photo before a code is looked for.

PhotoRefused      the file is not taken; `kind` is one of KINDS, the message says "expected, got"
ChildDied         the process that decodes ended, ran out of time or memory
AllBusy           every process that decodes has a photo already
"""

KINDS = ("missing", "bytes", "type", "pixels", "sides", "frames", "damaged", "unreadable", "busy")


class PhotoRefused(Exception):
    """The file is not taken; nothing of it was kept."""

    def __init__(self, kind: str, message: str) -> None:
        super().__init__(message)
        self.kind = kind  # one of KINDS
        self.message = message  # "expected X, got Y"


class ChildDied(Exception):
    """The decoding process gave no answer; the message says how it ended."""


class AllBusy(Exception):
    """No decoding process became free; the message says how long was waited."""
