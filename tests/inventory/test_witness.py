"""Somebody outside who noted size and root can tell a record put back or written anew."""

import json
from io import StringIO

import pytest
from django.core.management import call_command
from django.core.management.base import CommandError
from django.db import transaction

from inventory import audit
from inventory.models import RecordMark
from inventory.queries import latest_mark
from tests.firm import Firm, element_string


def scans(shop: Firm, *serials: str) -> str:
    """Receive these units; the mark afterwards, as a sheet bears it."""
    for serial in serials:
        shop.wanda.scan("receive", element_string(serial), target="DOCK")
    mark = latest_mark()
    return f"{mark['size']}:{mark['root']}"


def told(*witnesses: str) -> str:
    """What the command prints. Raises CommandError."""
    out = StringIO()
    call_command("audit", *(f"--witness={one}" for one in witnesses), stdout=out)
    return out.getvalue()


def test_a_record_that_only_grew_passes_each_mark_noted(shop: Firm) -> None:
    """Every mark there ever was, at every later size; as printed too, in groups of eight."""
    marks = [scans(shop, serial) for serial in ("A1", "A2", "A3", "A4", "A5")]
    size, _, root = marks[2].partition(":")
    printed = f"{size} : {' '.join(root[n : n + 8] for n in range(0, 64, 8)).upper()}"

    shown = told(*marks, printed)

    assert [f"only added to since {n}" in shown for n in (2, 4, 6, 8, 10)] == [True] * 5
    assert shown.count("breach") == 0


def test_a_record_put_back_to_an_earlier_state_is_told(shop: Firm) -> None:
    """It agrees with itself: only the mark that was noted outside shows what is gone."""
    kept = scans(shop, "A1", "A2")
    with transaction.atomic():
        gone = scans(shop, "A3", "A4")
        transaction.set_rollback(True)
    assert [done for done in audit.run() if done.problems] == []
    assert told(kept)
    with pytest.raises(CommandError, match=r"expected at least 8 entries, .* got 4: later ones"):
        told(kept, gone)

    # Other scans came since, so that as many entries stand there as were noted.
    scans(shop, "A5", "A6", "A7")

    assert [done for done in audit.run() if done.problems] == []
    assert told(kept)
    with pytest.raises(CommandError, match=r"^1 breach\nonly added to since 8: the first 8 entr"):
        told(kept, gone)


def test_one_digit_of_a_root_is_enough(shop: Firm) -> None:
    """Another root is no witness of this record, whichever digit differs; nor another size."""
    size, _, root = scans(shop, "A1").partition(":")
    scans(shop, "A2", "A3")
    other = [f"{size}:{root[:n]}{int(root[n], 16) ^ 1:x}{root[n + 1 :]}" for n in (0, 31, 63)]
    for wrong in (*other, f"1:{root}", f"3:{root}", f"6:{root}"):
        with pytest.raises(CommandError, match=r"are not those that were noted"):
            told(wrong)


@pytest.mark.parametrize("text", ["", "4", ":" + "a" * 64, "4:" + "a" * 63, "0:" + "a" * 64, "x"])
def test_what_is_no_mark_is_refused(shop: Firm, text: str) -> None:
    """Expected and got, before anything is checked."""
    with pytest.raises(CommandError, match=r"^witness: expected SIZE:ROOT, .* got "):
        told(text)


def test_a_mark_of_an_empty_record_s_future_is_refused(shop: Firm) -> None:
    """Nothing was ever scanned here, says the record; the breach stands in the JSON too."""
    out = StringIO()
    with pytest.raises(CommandError, match=r"expected at least 4 entries, .* got 0"):
        call_command("audit", "--json", f"--witness=4:{'ab' * 32}", stdout=out)

    assert RecordMark.objects.count() == 0
    last = json.loads(out.getvalue())["checks"][-1]
    assert last["name"] == "only added to since 4"
    assert len(last["problems"]) == 1
