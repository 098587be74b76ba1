"""Every caution stands at its step: on the page of the work, before a thing can be scanned."""

from __future__ import annotations

import re
from html import unescape
from typing import Any

from kitting.models import Kit
from tests.kitting.yard import Yard
from tests.stories.counting_hands import Hands
from tests.stories.test_a_stack_grows import put_up

WORK = {"new": "fit", "expansion": "fit", "swap": "swap", "removal": "down"}
BEFORE = {"stacks": [{"modules": 2}]}
JOBS: list[dict[str, Any]] = [
    {"job": "new"},
    {"job": "expansion", "stacks": [{"modules": 3}], "before": BEFORE},
    {"job": "swap", "swap": [{"stack": 1, "level": 1}]},
    {"job": "removal"},
]


def page_of(yard: Yard, kit: Kit, name: str) -> str:
    """A page of the crew's as a person reads it, its tags left in."""
    path = f"/my/{kit.job.code}/{name}"
    return unescape(Hands(yard.tariq.person).client.get(path).content.decode())


def test_every_caution_stands_where_its_work_is_done(yard: Yard) -> None:
    """New, expansion, swap and removal: at the work above the pad; in its own step on the job's
    page; what is carried and opened at the boxes; who decides behind each."""
    put_up(yard)
    for asked in JOBS:
        kit = yard.kit(yard.job(**asked))
        cautions = kit.snapshot["cautions"]
        told = {(one["step"], one["words"], one["decides"]) for one in cautions}
        assert len(told) >= 3
        work = page_of(yard, kit, WORK[kit.job.kind])
        pad = work.index("<scan-pad")
        job = page_of(yard, kit, "")
        titles = {step["key"]: step["title"] for step in kit.snapshot["steps"]}
        for step, words, decides in told:
            assert f"{words} <em>Who decides: {decides}.</em>" in work[:pad], words
            of_step = re.search(
                rf"<summary><span>{re.escape(titles[step])}</span>.*?</details>\s*(?=<details|</)",
                job,
                re.DOTALL,
            )
            assert of_step is not None
            assert words in of_step[0]
        for name in ("load", "unbox") if asked is JOBS[0] else ():
            html = page_of(yard, kit, name)
            carried = [words for step, words, _ in told if step == "look"]
            assert carried
            assert all(words in html for words in carried)


def test_the_two_of_starting_up_stand_before_their_boxes(yard: Yard, kit: Kit) -> None:
    """Unpowered and proved dead before a meter is put on; tested before it is switched on."""
    html = page_of(yard, kit, "start")

    assert html.index("Switch everything off, isolate") < html.index('name="number"')
    assert html.index("it has the order in which this system is switched on") < html.index(
        'id="ends"'
    )
