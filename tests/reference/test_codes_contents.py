"""What stands inside GS1 values, judged as published linters do (data/codes/contents.csv)."""

import csv
from pathlib import Path

import pytest

from inventory.codes import identifiers, value_checks
from inventory.codes.errors import CodeError

DATA = Path(__file__).parent / "data" / "codes" / "contents.csv"
LINES = [line for line in DATA.read_text(encoding="utf-8").splitlines() if line[0] != "#"]
ROWS = list(csv.DictReader(LINES, delimiter=";"))


def refusal(identifier: str, value: str) -> str:
    """The kind of our refusal, empty for a value that may stand there."""
    try:
        value_checks.check(identifiers.table()[identifier], value)
    except CodeError as error:
        return error.kind
    return ""


def test_published_values_are_judged_as_published():
    """Countries, currencies, packages, accounts, places, coupons: yes and no as published."""
    wrong = [row for row in ROWS if refusal(row["identifier"], row["value"]) != row["refusal"]]

    assert wrong == []
    assert len(ROWS) > 80


@pytest.mark.parametrize(
    ("fields", "kind"),
    [
        ("101101239", ""),  # a second purchase without a company's prefix
        ("101101237", "bad_coupon"),  # no such length of a prefix
        ("32802294280228", ""),  # until 29 Feb of a leap year, from the 28th
        ("32602284260301", "bad_coupon"),  # starts after its end
        ("3260230", "bad_day"),
        ("50123456" + "611234567" + "91001", ""),  # serial, retailer, the rest
        ("50123456" + "6112345", "bad_coupon"),  # retailer cut short
        ("93001", "bad_coupon"),  # no such kind of saving
        ("910010", "bad_coupon"),  # something behind the last field
    ],
)
def test_optional_fields_of_a_coupon(fields, kind):
    """Optional fields are told by their mark, in order (source: rules in lint_couponcode.c)."""
    assert refusal("8110", "012345612345611110123" + fields) == kind


@pytest.mark.parametrize(
    ("identifier", "value", "kind"),
    [
        ("4300", "Caf%C3%A9", ""),
        ("4300", "100%", "bad_escape"),
        ("4300", "100%2", "bad_escape"),
        ("7252", "9", ""),
        ("7252", "3", "bad_sex"),
        ("8014", "1987654Ad4X4bL5ttr2310c2K", ""),
        ("401", "AB12", "company_prefix"),
        ("8010", "0952-1", ""),
        ("8010", "95-21", "company_prefix"),
    ],
)
def test_rules_told_in_words(identifier, value, kind):
    """Escapes, ISO 5218, company prefixes by lint_pcenc, lint_iso5218, lint_gcppos1."""
    assert refusal(identifier, value) == kind
