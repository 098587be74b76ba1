"""The sheet beside the bench: large words, each with its code."""

from typing import Final

from inventory.labels.layouts import Layout

SHEET: Final = Layout(
    name="wall",
    words="A4 or Letter, large words",
    paper="",
    page_width=210,
    page_height=279,
    columns=2,
    rows=5,
    left=10,
    top=8,
    across=95,
    down=52,
    width=95,
    height=52,
    margin=4,
    title=8,
    print=3.4,
)
