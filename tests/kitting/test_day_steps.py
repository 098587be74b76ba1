"""The pages of a job's work stand in the order it is done in."""

import pytest

from kitting import day_steps
from kitting.models import JobKind

DAYS = {
    JobKind.NEW: ["load", "unbox", "fit", "start", "back"],
    JobKind.EXPANSION: ["load", "unbox", "fit", "start", "down", "back"],
    JobKind.SWAP: ["load", "unbox", "swap", "start", "back"],
    JobKind.REMOVAL: ["load", "down", "back"],
}


@pytest.mark.parametrize("kind", JobKind)
def test_each_page_leads_to_the_one_after_it(kind: JobKind) -> None:
    """From the van to the end of each kind of job; behind the last comes nothing."""
    page, way = "my_load", ["load"]
    while found := day_steps.after(kind, page):
        page = found.page
        way.append(page.removeprefix("my_"))

    assert way == DAYS[kind] == [one.page.removeprefix("my_") for one in day_steps.of(kind)]


def test_a_page_that_is_no_step_leads_nowhere() -> None:
    """Nor does one that this kind of job has not."""
    assert day_steps.after(JobKind.NEW, "my_problem") is None
    assert day_steps.after(JobKind.REMOVAL, "my_fit") is None
