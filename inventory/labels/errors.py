"""What can go wrong with a label.

LabelError
 |- LabelRefused      the content cannot be a label: "expected X, got Y"
 `- LabelUnreadable   it was drawn, but a decoder does not give the same bytes back
"""


class LabelError(Exception):
    """Any of the errors below; the message names the label."""


class LabelRefused(LabelError):
    """The content cannot be printed as a label; the message says what was expected."""


class LabelUnreadable(LabelError):
    """The drawn label does not decode to what it should carry: it must not be printed."""
