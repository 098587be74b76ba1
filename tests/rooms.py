"""Which folders of tests are a part of the whole run by themselves."""

PURE = (
    "tests/codes",
    "tests/incoming",
    "tests/labels",
    "tests/ledger",
    "tests/pictures",
    "tests/plan",
)
"""No database: the rooms of the same names import no Django."""

BROWSER = "tests/browser"
