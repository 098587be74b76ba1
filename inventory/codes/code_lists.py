"""Code lists that standards keep: countries, currencies, kinds of package and of label.

Source: tables/gs1_code_lists.csv, whose head names the standards and its edition.

>>> "276" in codes("country"), "999" in codes("country")
(True, False)
"""

import csv
import functools
from pathlib import Path

TABLE = Path(__file__).parent / "tables" / "gs1_code_lists.csv"


@functools.cache
def codes(name: str) -> frozenset[str]:
    """Return the codes of a list: country, country_letters, currency, media, package.

    Raises KeyError for any other name.
    """
    return _lists()[name]


@functools.cache
def _lists() -> dict[str, frozenset[str]]:
    lines = TABLE.read_text(encoding="utf-8").splitlines()
    found: dict[str, frozenset[str]] = {}
    for row in csv.DictReader((line for line in lines if line[0] != "#"), delimiter=";"):
        whole = {row["start"] + end.removeprefix("-") for end in row["ends"].split()}
        found[row["list"]] = found.get(row["list"], frozenset()) | whole
    return found
