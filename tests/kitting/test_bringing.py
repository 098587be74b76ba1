"""Jobs and stacks that stand already, brought in: judged by row, written and taken back whole."""

from __future__ import annotations

from datetime import date

import pytest

from inventory import audit, notices
from inventory.bringing import looking, running
from inventory.bringing.kinds import KINDS
from inventory.bringing.looking import Look
from inventory.bringing.running import CannotBringIn
from inventory.calling import calls, calls_of
from inventory.codes.epcis import faults_of
from inventory.digest import digest
from inventory.epcis_events import document, told
from inventory.incoming.reading import Choices
from inventory.look_back import look_back
from inventory.models import BroughtFile, BroughtPart, Event, Outcome, Place, Unit
from inventory.notice_lists import dry_run
from kitting import as_built, claim_facts, packing
from kitting.models import AsBuilt, Installed, Job, Kit, KitLine, Site
from kitting.queries import stands_at
from tests.firm import NOW
from tests.inventory.recalls import freeze, letter
from tests.kitting import yard as yards
from tests.kitting.yard import CONFIGURATION, Yard
from tests.stories.counting_hands import Hands


@pytest.fixture
def yard(db: None) -> Yard:
    return yards.build()


def look(kind: str, text: str) -> Look:
    return looking.look(KINDS[kind], text.encode(), "a.csv", Choices(), None)


def faults(kind: str, text: str) -> list[str]:
    return [str(fault) for fault in look(kind, text).faults]


def begun(yard: Yard, kind: str, text: str) -> BroughtFile:
    by = yard.mona.person
    file = running.keep(KINDS[kind], "a.csv", Choices(), text.encode(), by)
    return running.begin(file, look(kind, text), change=True)


def bring(yard: Yard, kind: str, text: str) -> BroughtFile:
    return running.go_on(begun(yard, kind, text), yard.mona.person)


def sound() -> bool:
    return [problem for one in audit.run() for problem in one.problems] == []


ANSWERS = {k: v for k, v in CONFIGURATION.items() if k not in ("family", "job", "stacks")}
HEAD = "site;address;day;leaves at;van;crew;stack system;stacks;" + ";".join(ANSWERS)
TOLD = ";".join(
    f"{value / 10:g}" if name.endswith("_od") and isinstance(value, int) else str(value)
    for name, value in ANSWERS.items()
)


def job_row(site: str, day: str = "2026-12-01", stacks: str = "2", told: str = TOLD) -> str:
    return f"{site};2 Example Lane;{day};7:10;Van 1;tariq;tower;{stacks};{told}"


def jobs(*rows: str) -> str:
    return "\n".join([HEAD, *rows, ""])


def test_jobs_come_in_with_their_kits_and_the_same_file_changes_nothing(yard: Yard) -> None:
    """A row is a visit: its kit is the one the planning page works out; names are erased."""
    by_hand = packing.work_out_kit(yard.job(), yard.mona.person)
    text = jobs(job_row("House A"), job_row("House B", stacks="3"), job_row("House A", "2.12.2026"))

    file = bring(yard, "jobs", text)

    first, second, third = Job.objects.exclude(pk=by_hand.job.pk).order_by("pk")
    assert file.state == "brought in"
    assert first.configuration == CONFIGURATION
    assert [str(first.van), [p.username for p in first.crew.all()]] == ["Van 1", ["tariq"]]
    assert first.site == third.site != second.site
    assert second.configuration["stacks"] == [{"modules": 3}]
    assert first.kit is not None
    lines = ("item", "quantity", "step")
    assert list(first.kit.lines.values_list(*lines)) == list(by_hand.lines.values_list(*lines))
    assert [part.rows for part in BroughtPart.objects.all()] == [[]]
    assert "House" not in "".join(Event.objects.values_list("line", flat=True))
    before = digest()
    assert look("jobs", text).finished
    assert [one.state for one in look("jobs", text + "\n").found] == ["same"] * 3
    with pytest.raises(CannotBringIn, match="nothing to do"):
        bring(yard, "jobs", text + "\n")
    assert digest() == before
    assert sound()


def test_what_a_family_refuses_is_told_by_row_and_column(yard: Yard) -> None:
    """Each row is worked out as a kit when it is judged; a planned job is changed on its page."""
    bring(yard, "jobs", jobs(job_row("House A")))
    odd = TOLD.replace("floor", "ceiling").replace("12;", "twelve;")
    text = jobs(
        job_row("House A", stacks="3"),
        job_row("House C", stacks="99"),
        job_row("House D", told=odd),
        job_row("House E", day="").replace("tariq", "wanda").replace("Van 1", "Van 9"),
        job_row("House F"),
        job_row("House F"),
        job_row("House G", day="31.3.2127"),
    )

    found = faults("jobs", text)

    assert [words.partition(":")[0] for words in found] == [
        "row 2, column H (stacks)",
        "row 3, column H (stacks)",
        "row 4, column I (mount)",
        "row 4, column R (ac_od)",
        "row 5, column C (day)",
        "row 5, column E (van)",
        "row 5, column F (crew)",
        "row 7",
        "row 8, column C (day)",
    ]
    assert found[-1].endswith("expected a day from 2000-01-01 to 2099-12-31, got '31.3.2127'")
    assert "change it on the page of the job" in found[0]
    assert Job.objects.count() == 1


def test_a_file_of_jobs_is_taken_back_whole_unless_somebody_began(yard: Yard) -> None:
    """Jobs, kits and sites of its parts are gone; one that was released keeps the file open."""
    rows = [job_row(f"House {n}") for n in range(7)]
    before = {model: model.objects.count() for model in (Site, Job, Kit, KitLine)}
    file = begun(yard, "jobs", jobs(*rows))
    running.go_on(file, yard.mona.person, seconds=0)
    assert (Job.objects.count(), file.state) == (5, "begun, not finished")

    running.take_back(file, yard.mona.person, "Wrong file.")

    assert {model: model.objects.count() for model in before} == before
    assert sound()
    again = begun(yard, "jobs", jobs(*rows))
    running.go_on(again, yard.mona.person, seconds=0)
    kit = Kit.objects.earliest("pk")
    packing.release(kit, yard.mona.person)
    with pytest.raises(CannotBringIn, match=f"Somebody has begun with {kit.job.code}"):
        running.take_back(again, yard.mona.person, "Wrong file.")
    assert Job.objects.count() == 5
    assert sound()


STANDS = """site;address;item;stack;place;as;serial;revision;batch;made on;fitted on;number
House A;3 Example Lane;CT-MODULE;1;1;;SN-01;B;L-7;2023-05-02;2023-06-01;1
House A;3 Example Lane;CT-MODULE;1;2;;;;;;;
House A;3 Example Lane;CT-MODULE;1;;;SN-0?3;;;;;
House A;3 Example Lane;CT-POWER;1;4;head;PW-9;;;;2023-06-01;
House B;;CT-MODULE;;1;;SN-04;;;;;
"""


def test_stacks_that_stand_already_are_followed_from_then_on(yard: Yard) -> None:
    """Known units stand in their stacks, unknown ones are places nobody has seen."""
    file = bring(yard, "installed", STANDS)

    assert file.state == "brought in"
    site = Site.objects.get(name="House A")
    assert [(row.level, row.role, row.serial, row.number) for row in stands_at(site.place)] == [
        (1, "unit", "SN-01", 1),
        (2, "unit", "", None),
        (3, "unit", "SN-0?3", None),
        (4, "head", "PW-9", None),
    ]
    unit = Unit.objects.select_related("lot", "place").get(serial="SN-01")
    assert (unit.lot.number, unit.revision, unit.made_on, unit.evidence) == (
        "L-7",
        "B",
        date(2023, 5, 2),
        "listed",
    )
    assert stands_at(site.place)[0].fitted_on == date(2023, 6, 1)
    chain, _ = look_back("SN-01")
    assert (chain.site, chain.links[-1].step, chain.breaks) == (site.place.code, "bring_in", ())
    about, address = look_back(site.place.code)
    assert (len(about.things), len(about.links), address) == (3, 1, f"/sites/{site.place.code}/")
    rows = list(stands_at(site.place).values_list("stack", "level", "role", "unit", "item"))
    as_built.refold(site.place)
    assert list(stands_at(site.place).values_list("stack", "level", "role", "unit", "item")) == rows
    assert sound()
    page = Hands(yard.mona.person).begin(f"/sites/{site.place.code}/").page.words
    assert (page.count("fitted 1 Jun 2023"), page.count("there before")) == (2, 2)
    # What a maker is told is the day of the fitting, never that of the file.
    assert claim_facts.of(unit)["installed"] == "1 Jun 2023"
    assert claim_facts.of(Unit.objects.get(serial="SN-0?3"))["installed"] == ""
    told_outside = list(told(Event.objects.filter(step="bring_in")))
    assert faults_of("".join(document(told_outside, NOW))) == []
    fitted, _ = told_outside  # one a stack
    assert (fitted["type"], fitted["action"], fitted["bizStep"]) == (
        "AssociationEvent",
        "ADD",
        "installing",
    )
    assert len(fitted["childEPCs"]) == 3  # type: ignore[arg-type]  # a list, as the check says
    before = digest()
    assert look("installed", STANDS).finished
    assert [one.state for one in look("installed", STANDS + "\n").found] == ["same"] * 5
    assert digest() == before


def test_what_stands_unseen_is_listed_by_its_site_as_cannot_tell(yard: Yard) -> None:
    """A letter about serials: the place in the stack is named, its site a touch away."""
    bring(yard, "installed", STANDS)
    mona = Hands(yard.mona.person).begin("/recalls/")
    told = {"letter": "L-1", "wrong": "cells may overheat", "rule": "model CT-MODULE; prefix SN-04"}

    mona.submit("/recalls/", "Show what it names", **told)

    words = " ".join(mona.page.words.split())
    _, _, unclear = words.partition("Nobody knows enough of these")
    assert "The letter names 1 of ours" in words, words
    assert "At a site: 2 House A: 2 " in unclear, unclear
    assert "not seen: stack 1, place 2, nobody knows its serial" in unclear, unclear
    mona.follow("Whose it is")
    assert "3 Example Lane" in mona.page.words


def test_what_a_file_says_of_a_thing_unseen_is_judged(yard: Yard) -> None:
    """Batch and day name it or rule it out; nothing can be set aside, so its site is called."""
    rows = [
        f"House {house};;CT-MODULE;1;{place};;;;{batch};{day};;"
        for house, place, batch, day in (
            ("A", 1, "L-7", "2023-05-02"),
            ("A", 2, "L-8", ""),
            ("A", 3, "", "2023-05-03"),
            ("A", 4, "", ""),
        )
    ]
    head = STANDS.partition("\n")[0]
    bring(yard, "installed", "\n".join([head, *rows, ""]))
    rule = "model CT-MODULE; lot L-7\nmodel CT-MODULE; made 2023-05-03 to 2023-05-31"
    notice = letter(yard.mona, "model CT-MODULE; lot L-7")
    site = Site.objects.get(name="House A").place

    first = dry_run(notice, "model CT-MODULE; lot L-7")
    both = dry_run(notice, rule)
    frozen, again = freeze(yard.mona, notice), freeze(yard.mona, notice)
    notices.change_rule(notice, yard.mona.person, rule)
    wider = freeze(yard.mona, notice)
    later = "\n".join([head, *(row.replace("House A", "House B") for row in rows[:2]), ""])
    bring(yard, "installed", later)

    assert (first.hits, first.unseen, first.cannot_tell) == (1, 1, 2)
    assert (
        first.groups[0].places[0].seen[0].why
        == "not seen: stack 1, place 1, is CT-MODULE, is of batch L-7"
    )
    assert (both.hits, both.cannot_tell) == (2, 2)
    assert (frozen.verdict, "1 to call" in frozen.sentence) == ("applied", True)
    assert (again.verdict, wider.verdict) == ("noted", "applied")
    one, other = calls(calls_of(notice.pk))
    assert (one.call.place, [row.words for row in one.unseen]) == (
        site,
        ["stack 1, place 1", "stack 1, place 3"],
    )
    assert other.call.place == Site.objects.get(name="House B").place
    assert [row.words for row in other.unseen] == ["stack 1, place 1"]
    said = Outcome.objects.filter(event__step="bring_in").latest("pk").sentence
    assert "What nobody has seen at stack 1, place 1 of Site" in said
    assert f"Recall {notice.code}" in said
    assert dry_run(notice, rule).unseen == 0
    at_site = Hands(yard.mona.person).begin(f"/sites/{site.code}/")
    assert at_site.page.words.count("not seen: Recall RC1") == 2
    assert "not seen: stack 1, place 3" in at_site.begin("/call-list/").page.words
    yard.job(site=Site.objects.get(name="House A"))
    crew = " ".join(Hands(yard.tariq.person).begin("/my/").page.words.split())
    assert ", stack 1, place 3 House A" in crew
    assert sound()


def test_what_the_record_has_otherwise_is_told_by_row(yard: Yard) -> None:
    """A serial read later fills its place; nothing takes the place of what stands."""
    bring(yard, "installed", STANDS)
    box = yard.box("SN-50")
    found = faults(
        "installed",
        "site;item;place;serial\n"
        "House A;CT-MODULE;1;SN-77\n"
        "House A;CT-MODULE;2;SN-01\n"
        "House A;CT-POWER;2;PW-1\n"
        "House B;CT-MODULE;9;SN-50\n"
        "House B;CT-MODULE;;\n"
        "House B;CT-MODULE;7;1.23E+14\n",
    )
    free = "column C (place): expected a free place, it holds battery module"
    assert [words.partition(", got")[0] for words in found] == [
        f"row 2, {free} SN-01 by the record",
        "row 3, column C (place): expected stack 1, place 1 as the record has it",
        f"row 4, {free}, not seen by the record",
        f"row 5, column D (serial): expected one that stands nowhere yet, it is at {box.place}",
        "row 6, column C (place): expected its place in the stack, as its serial is not known",
        "row 7, column D (serial): expected the serial as printed",
    ]
    bring(yard, "installed", "site;item;place;serial\nHouse A;CT-MODULE;2;SN-02\n")
    site = Site.objects.get(name="House A")
    assert [row.serial for row in stands_at(site.place)] == ["SN-01", "SN-02", "SN-0?3", "PW-9"]
    assert AsBuilt.objects.filter(site=site.place).count() == 5
    assert sound()


def test_stacks_of_a_file_that_is_taken_back_stand_nowhere(yard: Yard) -> None:
    """Their sites are gone, their units stand elsewhere and may come in again."""
    rows = "".join(f"House {n // 2};CT-MODULE;{n % 2 + 1};SN-{n:03d}\n" for n in range(120))
    text = "site;item;place;serial\n" + rows
    sites = Site.objects.count()
    file = begun(yard, "installed", text)
    running.go_on(file, yard.mona.person, seconds=0)
    assert AsBuilt.objects.count() == 50

    running.take_back(file, yard.mona.person, "Wrong file.")

    assert (AsBuilt.objects.count(), Site.objects.count()) == (0, sites)
    assert {unit.place.kind if unit.place else "" for unit in Unit.objects.all()} == {"elsewhere"}
    assert bring(yard, "installed", text).state == "brought in"
    assert (AsBuilt.objects.filter(until=None).count(), Installed.objects.count()) == (120, 170)
    assert Place.objects.filter(kind="stack", units__isnull=False).distinct().count() == 60
    assert sound()
