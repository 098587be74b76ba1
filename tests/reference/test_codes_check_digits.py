"""Check digits agree with worked examples of published pages (data/codes/check_digits.json)."""

import io
import json
from pathlib import Path

import pytest
from django.core.management import CommandError, call_command

ROWS = json.loads((Path(__file__).parent / "data" / "codes" / "check_digits.json").read_text())


@pytest.mark.parametrize("row", ROWS["numbers"], ids=lambda row: row["number"])
def test_worked_examples(row):
    """The published number is read, in its 14-digit form, and any other last digit is refused."""
    number = row["number"]
    out = io.StringIO()
    call_command("read", number, json=True, stdout=out)
    reading = json.loads(out.getvalue())["readings"][0]

    whole = number if len(number) == 18 else number.rjust(14, "0")
    assert whole in reading["fields"].values()
    for digit in set("0123456789") - {number[-1]}:
        with pytest.raises(CommandError, match="check_digit"):
            call_command("read", number[:-1] + digit, stdout=io.StringIO())
