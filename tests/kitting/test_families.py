"""Editions go in once and stay."""

import json
from datetime import date
from io import StringIO
from pathlib import Path

import pytest
from django.core.management import CommandError, call_command
from django.db import DatabaseError, connection, models, transaction

from inventory import catalogue
from inventory.models import Amendment, CartonContent, Item, Person
from kitting import families
from kitting.families import EditionError
from kitting.models import FamilyEdition
from kitting.plan.errors import FamilyError
from tests.kitting.yard import TOWER
from tests.plan.small import text

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


@pytest.mark.parametrize("column", families.KEPT)
def test_the_database_itself_keeps_an_edition(column: str) -> None:
    """No column of its text, date or name changes by any statement, with or without the models."""
    edition = families.load(TEXT, "tower.toml").edition
    before = FamilyEdition.objects.values_list(*families.KEPT).get()
    value = getattr(edition, column)
    statements = (
        f"UPDATE kitting_familyedition SET {column} = {column}",
        f"UPDATE kitting_familyedition SET current_from = NULL, {column} = NULL",
        "DELETE FROM kitting_familyedition",
    )
    setattr(edition, column, "moon" if isinstance(value, str) else value)
    tries = [
        *(lambda words=words: connection.cursor().execute(words) for words in statements),
        lambda: FamilyEdition.objects.update(**{column: value}),
        lambda: FamilyEdition.objects.bulk_update([edition], [column]),
        lambda: models.Model.save_base(edition, force_update=True),
        lambda: models.Model.delete(edition),
        lambda: FamilyEdition.objects.all().delete(),
    ]
    for change in tries:
        with pytest.raises(DatabaseError, match="only grows"), transaction.atomic():
            change()

    assert FamilyEdition.objects.values_list(*families.KEPT).get() == before
    families.make_current(FamilyEdition.objects.get())  # when it came into use may change


@pytest.mark.sqlite_only
def test_an_edition_is_not_replaced() -> None:
    """REPLACE deletes the old row first: only recursive triggers see that."""
    families.load(TEXT, "tower.toml")
    words = "REPLACE INTO kitting_familyedition SELECT * FROM kitting_familyedition"

    with pytest.raises(DatabaseError, match="only grows"), transaction.atomic():
        connection.cursor().execute(words)


def test_what_a_box_holds_from_a_day_on_stays_as_told() -> None:
    """A later edition adds its own day; what it no longer tells is 0 from then on."""
    families.load(TEXT, "tower.toml")
    later = TEXT.replace("2026-11-03", "2026-11-20")
    box = 'carton = [{ item = "CT-FOOT", quantity = 4 }]\n'
    assert later.count(box) == 1
    families.make_current(families.load(later.replace(box, ""), "tower.toml").edition)
    told = CartonContent.objects.filter(item__code="CT-FOOT").order_by("since")

    assert list(told.values_list("since", "quantity")) == [
        (date(2026, 11, 3), 4),
        (date(2026, 11, 20), 0),
    ]
    with pytest.raises(DatabaseError, match="only grows"), transaction.atomic():
        told.update(quantity=3)


def test_a_base_unit_cannot_change() -> None:
    """Stock was booked in it."""
    Item.objects.create(code="CT-MODULE", name="module", tracking="count")

    with pytest.raises(EditionError, match="item CT-MODULE: expected count in piece"):
        families.load(TEXT, "tower.toml")

    assert not FamilyEdition.objects.exists()


def test_a_later_edition_is_in_use_when_somebody_says_so_and_a_trial_warns() -> None:
    """The first edition is in use at once; one loaded later changes nothing until made current."""
    first = families.load(TEXT, "tower.toml").edition
    trial = TEXT.replace("2026-11-03", "2026-11-20").replace('"released"', '"trial"')
    trial = trial.replace('item = "CT-FOOT", quantity = 4', 'item = "CT-FOOT", quantity = 2')
    loaded = families.load(trial.replace('"battery module"', '"cell block"'), "tower.toml")

    assert "is a trial" in loaded.warnings[0]
    assert families.current("tower") == first
    assert Item.objects.get(code="CT-MODULE").name == "battery module"
    assert CartonContent.objects.get(item__code="CT-FOOT").quantity == 4
    families.make_current(loaded.edition)
    assert families.current("tower") == loaded.edition
    assert Item.objects.get(code="CT-MODULE").name == "cell block"
    assert CartonContent.objects.filter(item__code="CT-FOOT").count() == 2
    families.make_current(first)  # and back again
    assert families.current("tower") == first
    assert families.current("no such") is None


def test_what_a_list_says_of_an_item_anew_stands_beside_it_with_who_and_when() -> None:
    """A weight that the desk had changed is not written over in silence; the same is nothing."""
    mona = Person.objects.create_user("mona", name="Mona")
    families.load(TEXT, "tower.toml")
    assert not Amendment.objects.exists()
    module = Item.objects.get(code="CT-MODULE")
    given = module.mass_g
    catalogue.change_item(module, name=module.name, mass_g=given + 500, by=mona)
    later = families.load(TEXT.replace("2026-11-03", "2026-11-20"), "tower.toml").edition
    families.make_current(later, mona)
    families.make_current(later, mona)

    desk, edition = Amendment.objects.order_by("pk")
    assert (desk.was["mass_g"], desk.now["mass_g"]) == (given, given + 500)
    assert (edition.about, edition.by) == ("item:CT-MODULE", mona)
    assert (edition.was["mass_g"], edition.now["mass_g"]) == (given + 500, given)


def test_faults_of_a_family_are_told_with_their_place() -> None:
    """Broken TOML names the file."""
    with pytest.raises(FamilyError, match=r"odd\.toml"):
        families.load("[family", "odd.toml")


def test_only_what_passes_the_check_is_released(tmp_path: Path) -> None:
    """A need that nothing meets keeps a released list out, and a trial in; an overlap both."""
    hole, example = text(without=("no bond",)), tmp_path / "example.json"
    twice = '\n[[rule]]\nname = "again"\nneed = "bond"\nway = "built_in"\nwhy = "twice"\n'
    files = {
        "hole.toml": hole,
        "trial.toml": text(without=("no bond",), status="trial"),
        "twice.toml": text(more=twice, status="trial"),
    }
    for name, written in files.items():
        (tmp_path / name).write_text(written, encoding="utf-8")

    with pytest.raises(CommandError, match="unmet: no rule meets: bond"):
        call_command("load_family", str(tmp_path / "hole.toml"), "--example", str(example))
    assert json.loads(example.read_text(encoding="utf-8"))["stacks"] == [{"modules": 1}]
    with pytest.raises(CommandError, match="overlap: no bond and again"):
        call_command("load_family", str(tmp_path / "twice.toml"))
    assert not FamilyEdition.objects.exists()
    call_command("load_family", str(tmp_path / "trial.toml"), stdout=StringIO(), stderr=StringIO())
    assert FamilyEdition.objects.get().status == "trial"


def test_the_command_answers_in_json_and_refuses_with_a_reason() -> None:
    """manage.py load_family FILE --json."""
    out = StringIO()
    call_command("load_family", str(TOWER), "--json", stdout=out)

    answer = json.loads(out.getvalue())
    assert answer["name"] == "tower"
    assert answer["stored"] is True
    assert answer["current"] is True
    with pytest.raises(CommandError, match=r"nowhere\.toml: expected a file that can be read"):
        call_command("load_family", "nowhere.toml")
