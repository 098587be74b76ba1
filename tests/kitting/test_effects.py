"""What a later parts list would change on all open jobs, before anybody makes it the one in use."""

import pytest
from django.test import Client
from pytest_django import DjangoAssertNumQueries

from inventory.models import Item
from kitting import effects, families, hand_lines, packing, visiting
from kitting.models import FamilyEdition
from tests.kitting.yard import TOWER, Yard

TEXT = TOWER.read_text(encoding="utf-8").replace("2026-11-03", "2026-12-01")
TWO = "{ modules = 2, gives = { CT-BRACKET = 2 } }"
LIMIT = """
[[limit]]
name = "three"
message = "No more stacks of three"
measure = "modules"
max = 2
when = { modules = [3] }
"""


def later(text: str) -> FamilyEdition:
    return families.load(text, "tower.toml, next").edition


def test_each_open_job_is_worked_out_anew_and_compared(
    yard: Yard, django_assert_num_queries: DjangoAssertNumQueries
) -> None:
    """One job stays as it is, two get a bracket more, one could not be planned; none is changed."""
    one, *two, three = (yard.job(stacks=[{"modules": n}]) for n in (1, 2, 2, 3))
    kits = [packing.work_out_kit(job, yard.mona.person) for job in (one, *two, three)]
    packing.release(kits[2], yard.mona.person)
    gone = yard.job(stacks=[{"modules": 2}])
    packing.work_out_kit(gone, yard.mona.person)
    visiting.cancel_job(gone, yard.mona.person)
    edition = later(TEXT.replace(TWO, TWO.replace("= 2 }", "= 3 }")) + LIMIT)
    families.family_of(edition)
    with django_assert_num_queries(3):
        effect = effects.of_edition(edition)

    assert effect.jobs == 4
    assert effect.unchanged == (kits[0],)
    assert [change.kit for change in effect.changed] == kits[1:3]
    assert [change.stays for change in effect.changed] == [False, True]
    assert [refused.kit for refused in effect.refused] == [kits[3]]
    assert effect.refused[0].reasons == (
        "No more stacks of three: expected at most 2, got 3 (stack 1)",
    )
    for change in effect.changed:
        nets = {net.item: net.quantity for net in change.difference.to_pick()}
        assert nets["CT-BRACKET"] == 1
        assert change.difference.to_return() == ()
    more = {net.item: total for net, total in effect.more}
    assert more["CT-BRACKET"] == 1  # what is out already stays as it is
    assert effect.less == ()
    assert families.current("tower") == kits[0].edition


def test_the_same_text_under_a_later_date_changes_nothing(yard: Yard) -> None:
    """Spares and lengths are not taken for a change."""
    yard.kit()

    assert len(effects.of_edition(later(TEXT)).unchanged) == 1


def test_what_hands_changed_is_no_change_of_the_list(yard: Yard) -> None:
    """A line dropped, one changed, one added: the same list under a later date changes nothing."""
    job = yard.job()
    packing.work_out_kit(job, yard.mona.person)
    for code, step, verb, quantity in (
        ("CT-BONDS", "earth", "drop", 0),
        ("CT-BRACKET", "fix", "change", 5),
        ("CT-TIE", "fix", "add", 2),
    ):
        item = Item.objects.get(code=code)
        given = {"item": item, "step": step, "verb": verb, "quantity": quantity}
        hand_lines.put(job, **given, reason="as told", by=yard.mona.person)

    assert len(effects.of_edition(later(TEXT)).unchanged) == 1


def test_the_page_tells_it_and_a_manager_makes_it_current(yard: Yard) -> None:
    """The warehouse reads it and may not; from then on there is nothing left to compare."""
    packing.work_out_kit(yard.job(), yard.mona.person)
    later(TEXT.replace(TWO, TWO.replace("= 2 }", "= 3 }")))
    where = "/lists/tower/2026-12-01/"
    desk, office = Client(), Client()
    desk.force_login(yard.wanda.person)
    office.force_login(yard.mona.person)

    read = desk.get(where).content.decode()
    assert "1 open job: 0 as they are, 1 with another kit or something to sign, 0 that" in read
    assert "Wall bracket" in read
    assert "Use it from now on" not in read
    assert desk.post(where, {"use": "yes"}).status_code == 404
    assert office.post(where, {"use": "yes"}).status_code == 302
    assert families.current("tower") == FamilyEdition.objects.get(edition="2026-12-01")
    assert "What it would change" not in office.get(where).content.decode()


pytestmark = pytest.mark.django_db
