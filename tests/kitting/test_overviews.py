"""How a job stands, in a word, with the reasons why it may break."""

from datetime import timedelta

from kitting import board, overviews, packing, visiting
from kitting.models import Job, Kit
from kitting.overviews import Readiness, Row
from kitting.progress import fold
from tests.kitting.yard import DAY, Yard, about


def readiness(yard: Yard) -> Readiness:
    [row] = [row for day in overviews.week(yard.mona.person, DAY, DAY) for row in day.rows]
    return row.readiness


def test_a_job_without_a_kit_says_so(yard: Yard) -> None:
    """Planned, worked out, released: one word each."""
    job = yard.job()
    assert readiness(yard).word == "No kit yet"
    kit = packing.work_out_kit(job, yard.mona.person)
    assert readiness(yard).word == "Not released"
    packing.release(kit, yard.mona.person)
    assert readiness(yard).word == "To pick"
    visiting.cancel_job(job, yard.mona.person)
    assert readiness(yard).word == "Cancelled"


def test_what_was_never_counted_breaks_nothing(yard: Yard, kit: Kit) -> None:
    """An empty book is no empty shelf; a counted shelf that is short is a reason."""
    assert readiness(yard).tone == "wait"
    yard.shelve("CT-BRACKET", 1)
    told = readiness(yard)

    assert told.word == "Will break"
    assert told.reasons[0] == (
        "wall bracket: 2 needed, 1 here: breaks Thursday, nobody has ordered it"
    )


def test_trouble_comes_first(yard: Yard, kit: Kit) -> None:
    """A thing told missing is the first reason."""
    yard.tariq.scan("missing", "CT-TERM", quantity=1, **about(kit))
    yard.shelve("CT-BRACKET", 1)

    assert readiness(yard).reasons[0] == "bus end plug: missing"


def test_the_walk_goes_by_bins(yard: Yard, kit: Kit) -> None:
    """In the order of the bins, whatever the order of the steps."""
    for code, place in (("CT-BRACKET", 2), ("CT-CLAMP-L", 0), ("CT-CLAMP-R", 1)):
        yard.shelve(code, 9, yard.firm.bins[place])
    walk = overviews.walk(kit)

    assert [stop.shelf.name for stop in walk.stops if stop.shelf] == ["Bin 1", "Bin 2", "Bin 3"]


def test_each_step_brings_its_cautions(yard: Yard, kit: Kit) -> None:
    """Every caution of the kit stands at one of its steps, and says who decides."""
    steps = overviews.steps_of(kit, fold(kit))
    told = [caution for step in steps for caution in step.cautions]

    assert told == kit.snapshot["cautions"]
    assert all(caution["decides"] for caution in told)


def test_what_a_rule_tells_to_do_stands_among_the_tasks_of_its_step(yard: Yard, kit: Kit) -> None:
    """After the step's own tasks, with its place; kits of before this was kept have none."""
    before = overviews.steps_of(kit, fold(kit))
    task = {"step": "end", "words": "Set the address.", "place": "stack 1"}
    kit.snapshot["tasks"] = [{**task, "need": "end the bus", "rule": "R1"}]
    steps = {step.key: step.tasks for step in overviews.steps_of(kit, fold(kit))}
    own = {step.key: step.tasks for step in before}

    assert steps == {**own, "end": (*own["end"], "Set the address (stack 1).")}
    del kit.snapshot["tasks"]
    assert overviews.steps_of(kit, fold(kit)) == before


def test_a_crew_sees_its_own_open_jobs(yard: Yard, kit: Kit) -> None:
    """Yesterday's job stays until its kit is closed; another crew's is not there."""
    late = DAY + timedelta(days=1)
    own = overviews.jobs_of_crew(yard.tariq.person, late)

    assert [row.job.code for row in own] == [kit.job.code]
    assert overviews.jobs_of_crew(yard.tove.person, late) == []


def test_jobs_of_which_one_word_is_all_to_say_stand_together() -> None:
    """By word, then by day; who has a reason of its own stands alone."""
    late, none = Readiness("Not released", "warn", "problem"), Readiness("No kit yet", "warn", "x")
    broken = Readiness("Will break", "stop", "x", ("no bracket",))
    ways = [(late, 0), (late, 0), (broken, 0), (none, 1), (late, 2)]
    rows = [Row(Job(date=DAY + timedelta(days)), None, how) for how, days in ways]

    told = board.together(rows)
    assert [(one.readiness, one.count) for one in told] == [(late, 3), (none, 1)]
    assert told[0].days == ((DAY, (rows[0], rows[1])), (DAY + timedelta(2), (rows[4],)))
