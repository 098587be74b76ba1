"""A stack that others fitted is entered once, then grows: from the site's page to the last scan."""

from __future__ import annotations

import pytest

from inventory import audit
from kitting import families, queries
from kitting.models import Job
from kitting.progress import fold
from tests.kitting import yard as yards
from tests.kitting.test_unboxing import carry
from tests.kitting.yard import Yard, about
from tests.stories.counting_hands import Hands

pytestmark = pytest.mark.django_db
PLAN = "Plan it and work out the kit"
SAVE = "Save, then enter each unit"
ANSWERS = {
    f"about_{name}": f"{value / 10:g}" if name.endswith("_od") else str(value)
    for name, value in yards.CONFIGURATION.items()
    if name not in ("family", "job", "stacks")
}


def strict_yard() -> Yard:
    """A firm whose tower grows only where every standing module is of revision B or later."""
    yard = yards.build()
    text = yards.TOWER.read_text(encoding="utf-8")
    named = 'revisions = ["A", "B"]\n'
    text = text.replace(named, named + 'expands_from = "B"\n', 1)
    later = text.replace("edition = 2026-11-03", "edition = 2026-11-04")
    families.make_current(families.load(later, "tower.toml").edition)
    return yard


def visit(yard: Yard) -> dict[str, object]:
    """When, which van, who."""
    crew = [str(yard.tariq.person.pk)]
    return {"date": yards.DAY.isoformat(), "van": str(yard.firm.van.pk), "crew": crew}


def enter_stack(yard: Yard, mona: Hands) -> str:
    """Describe the site and enter what stands there; return the address of its page."""
    mona.begin("/sites/")
    site = mona.submit("/sites/", "Enter it", name="House of others", address="2 Example Lane")
    assert b"House of others" in mona.client.get("/sites/?q=example+lane").content
    assert b"No site of that name" in mona.client.get("/sites/?q=castle").content
    mona.follow("Others fitted a stack here")
    mona.begin(f"{site}describe?family=tower")
    found = mona.submit(f"{site}describe", SAVE, stacks="2", **ANSWERS)
    assert found == f"{site}found", mona.page.words
    mona.choose("position", "1/1")
    mona.choose("reason", "A")
    assert mona.scan(yard.label("OLD1")) == "applied", mona.said
    assert mona.press("It stands there, not seen", position="1/2") == "applied", mona.said
    mona.choose("position", "1/3")
    mona.choose("reason", "")
    assert mona.scan("OLDHEAD") == "applied", mona.said
    return site


def test_a_stack_that_others_fitted_is_entered_and_grows() -> None:
    """Serials, one unseen, revisions; a revision bars it by the unit's name; the crew adds one."""
    yard = strict_yard()
    mona = Hands(yard.mona.person)
    site = enter_stack(yard, mona)
    mona.begin(site)
    assert "OLD1" in mona.page.words
    assert "not seen" in mona.page.words

    mona.follow("Add modules")
    assert mona.submit("/jobs/new", PLAN, stacks="3", **visit(yard)) == ""
    barred = "battery module OLD1 at stack 1, place 1 is revision A: expected B or later"
    assert barred in mona.page.words
    assert not Job.objects.exists()

    # Looked at again: the label says B, and the second module is dusted off.
    mona.begin(f"{site}found")
    for place, serial in (("1/1", "OLD1"), ("1/2", "OLD2")):
        mona.choose("position", place)
        mona.choose("reason", "B")
        assert mona.scan(yard.label(serial)) == "applied", mona.said
    mona.begin(site).follow("Add modules")
    where = mona.submit("/jobs/new", PLAN, stacks="3", **visit(yard))
    job = Job.objects.get()
    assert where == f"/jobs/{job.code}/"
    assert job.before == {**job.before, "stacks": [{"modules": 2, "revisions": ["B", "B"]}]}
    mona.begin(where)
    assert "label set, system" in mona.page.words  # a stack that grew is rated anew
    mona.submit(where, "Release to the warehouse")
    kit = job.kit
    assert fold(kit).totals["CT-MODULE"].needed == 1

    carry(yard, kit, "NEW3")
    yard.tariq.scan("unbox", "NEW3", **about(kit))
    tariq = Hands(yard.tariq.person).begin(f"/my/{job.code}/fit")
    assert "Charge before joining" in tariq.page.words
    assert tariq.fill("Enter the charge", text="NEW3", number="30") == "applied", tariq.said
    assert tariq.fill("Enter the charge", text="OLD2", number="41") == "problem"
    assert tariq.fill("Enter the charge", text="OLD2", number="33") == "applied", tariq.said
    tariq.begin(f"/my/{job.code}/down")
    assert tariq.scan("OLDHEAD") == "applied", tariq.said
    tariq.begin(f"/my/{job.code}/fit")
    for place, serial in (("1/3", "NEW3"), ("1/4", "OLDHEAD")):
        tariq.choose("position", place)
        assert tariq.scan(serial) == "applied", tariq.said

    rows = queries.stands_at(job.site.place)
    expected = [(1, "OLD1"), (2, "OLD2"), (3, "NEW3"), (4, "OLDHEAD")]
    assert expected == [(row.level, row.serial) for row in rows]
    assert [check.problems for check in audit.run() if check.problems] == []
