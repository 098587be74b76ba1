"""Two printed codes that teach a browser how its hand scanner types.

Between them they hold every character of GS1 set 82 but `+` and `=`, whose key is a dead one on
many keyboards, and one group separator. GS1-128 and GS1 DataMatrix beside it: a scanner for line
codes alone reads the first, every other one either.
"""

from typing import Final

from inventory.labels.label import Label
from inventory.labels.layouts import Layout

PAIRS: Final = (
    (("91", "ABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789"), ("92", "-/.%&")),
    (("93", "abcdefghijklmnopqrstuvwxyz!\"'()*,:;<>?_9z3a"),),
)
"""Identifiers 91 to 93: company internal (Source: GS1 General Specifications 3.9.2). Some signs
come twice: where those arrive in two ways it was another code, or one that lost a sign."""

LABELS: Final = tuple(
    Label("command", f"Code {n} of 2", pairs=pairs, lines=("Hand scanner: set up",))
    for n, pairs in enumerate(PAIRS, 1)
)
TEXTS: Final = tuple(label.joined("\x1d") for label in LABELS)
"""What arrives from a scanner that types each sign as it is."""

SHEET: Final = Layout(
    name="lesson",
    words="A4 or Letter, two wide codes",
    paper="",
    page_width=210,
    page_height=279,
    columns=1,
    rows=2,
    left=27,
    top=20,
    across=155,
    down=80,
    width=155,
    height=50,
    margin=6,
    title=6,
    print=3.4,
)
