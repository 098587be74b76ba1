"""Editions go in once and stay."""

import json
from io import StringIO

import pytest
from django.core.management import CommandError, call_command

from inventory.models import CartonContent, Item
from kitting import families
from kitting.families import EditionError
from kitting.models import FamilyEdition
from kitting.plan.errors import FamilyError
from tests.kitting.yard import TOWER

pytestmark = pytest.mark.django_db
TEXT = TOWER.read_text(encoding="utf-8")


def test_the_same_text_again_changes_nothing() -> None:
    """A second load makes no edition and no item."""
    first = families.load(TEXT, "tower.toml")
    again = families.load(TEXT, "tower.toml")

    assert (first.fresh, again.fresh) == (True, False)
    assert first.items_made > 40
    assert again.items_made == 0
    assert FamilyEdition.objects.count() == 1
    assert Item.objects.get(code="CT-MODULE").tracking == "serial"
    assert CartonContent.objects.get(box_of__code="CT-BASE", item__code="CT-FOOT").quantity == 4


def test_another_text_under_the_same_date_is_refused_and_nothing_is_kept() -> None:
    """An edition never changes: its date has to move."""
    families.load(TEXT, "tower.toml")

    with pytest.raises(EditionError, match="expected a later date than 2026-11-03"):
        families.load(TEXT.replace("battery module", "other module"), "tower.toml")

    assert Item.objects.get(code="CT-MODULE").name == "battery module"


def test_a_stored_edition_cannot_be_saved_again() -> None:
    """The row refuses a change in place."""
    edition = families.load(TEXT, "tower.toml").edition

    with pytest.raises(ValueError, match="stays as it is"):
        edition.save()


def test_a_base_unit_cannot_change() -> None:
    """Stock was booked in it."""
    Item.objects.create(code="CT-MODULE", name="module", tracking="count")

    with pytest.raises(EditionError, match="item CT-MODULE: expected count in piece"):
        families.load(TEXT, "tower.toml")

    assert not FamilyEdition.objects.exists()


def test_a_later_edition_is_the_current_one_and_a_trial_warns() -> None:
    """Kits come from the newest released edition, from a trial only where there is no other."""
    families.load(TEXT, "tower.toml")
    trial = TEXT.replace("2026-11-03", "2026-11-20").replace('"released"', '"trial"')
    loaded = families.load(trial, "tower.toml")

    assert "is a trial" in loaded.warnings[0]
    current = families.current("tower")
    assert current is not None
    assert current.status == "released"
    later = families.load(TEXT.replace("2026-11-03", "2026-11-21"), "tower.toml")
    assert families.current("tower") == later.edition
    assert families.current("no such") is None


def test_faults_of_a_family_are_told_with_their_place() -> None:
    """Broken TOML names the file."""
    with pytest.raises(FamilyError, match=r"odd\.toml"):
        families.load("[family", "odd.toml")


def test_the_command_answers_in_json_and_refuses_with_a_reason() -> None:
    """manage.py load_family FILE --json."""
    out = StringIO()
    call_command("load_family", str(TOWER), "--json", stdout=out)

    answer = json.loads(out.getvalue())
    assert answer["name"] == "tower"
    assert answer["stored"] is True
    with pytest.raises(CommandError, match="readable text file"):
        call_command("load_family", "nowhere.toml")
