"""The manager plans the week: four jobs through the planning page, each kit released."""

from __future__ import annotations

from typing import Any

from kitting import sourcing
from kitting.demo.firm import Planned
from kitting.demo.stage import Stage
from kitting.demo.visitor import Page, Unexpected
from kitting.demo.worker import Worker
from kitting.overviews import short_words

SHOWN = 4  # short items named in one line


def plan(stage: Stage) -> None:
    """Plan each job of the week and hand its kit to the warehouse."""
    mona = stage.workers["mona"]
    for job in stage.opening.firm.jobs:
        code = _plan(mona, job)
        stage.kits[job.key] = f"{code}-1"
        kit = stage.kit(job.key)
        stage.clock.tick(240)
        stage.say(
            mona.name,
            f"plans {code} for {job.date:%a %d %b}, {job.title}: {kit.lines.count()} lines, "
            f"{job.van}",
        )
        answer = mona.browser.post(f"/jobs/{code}/", {"release": "yes"})
        _redirected(answer, f"release of {code}")
        short = sourcing.shortages(stage.kit(job.key))
        words = "; ".join(short_words(one) for one in short[:SHOWN])
        more = f"; and {len(short) - SHOWN} more" if len(short) > SHOWN else ""
        stage.aside(f"released to the warehouse. Short: {words or 'nothing'}{more}")


def _plan(mona: Worker, job: Planned) -> str:
    """Fill in the planning page as a browser does; return the new job's code."""
    page = mona.browser.open("/jobs/new")
    fields: dict[str, Any] = {
        "site": "" if job.address else page.option(job.site),
        "site_name": job.site if job.address else "",
        "address": job.address,
        "date": job.date.isoformat(),
        "leaves_at": job.leaves_at,
        "van": page.option(job.van),
        "family": job.family,
        "job": job.job,
        "stacks": job.stacks,
        "before": job.before,
    }
    # The page asks once more when the system is chosen: its questions depend on it.
    asked = mona.browser.post("/jobs/new", {**fields, "ask": "yes"})
    names = {member: asked.option(mona_name) for member, mona_name in _crew(job)}
    fields["crew"] = list(names.values())
    fields |= {f"about_{name}": value for name, value in job.answers.items()}
    answer = mona.browser.post("/jobs/new", {**fields, "plan": "yes"})
    return _redirected(answer, f"plan of {job.site}").rstrip("/").rpartition("/")[2]


def _crew(job: Planned) -> list[tuple[str, str]]:
    return [(name, name.capitalize()) for name in job.crew]


def _redirected(answer: Page, what: str) -> str:
    if not answer.location:
        raise Unexpected(f"{what}: expected to be sent on, got {answer.words[:600]}")
    return answer.location
