"""The demo: the same week each time, over HTTP, with labels that had to be read."""

import json
import os
import random
import re
import subprocess
import sys
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from django.core.management import CommandError, call_command
from django.db import transaction
from django.test import override_settings

from inventory.digest import digest
from kitting.demo import firm as firms
from kitting.demo import opening
from kitting.demo.hand import Clock
from tests import axe, tables
from tests.counts import FULL
from tests.tree import TOP

PICTURES = None if FULL else 60
MONDAY = "2027-03-08"  # another week than that of the files


@pytest.fixture(scope="module")
def walk(tmp_path_factory: pytest.TempPathFactory) -> "Walk":
    """One walk in an empty database of its own."""
    return Walk(tmp_path_factory.mktemp("demo"))


class Walk:
    """`manage.py demo_walk` as `make demo` calls it, in a folder of its own."""

    def __init__(self, folder: Path) -> None:
        self.environment = {
            **{k: v for k, v in os.environ.items() if not k.startswith("LASTBOLT_")},
            "DATABASE_URL": f"sqlite:///{folder}/demo.sqlite3",
            "LASTBOLT_MEDIA": str(folder / "media"),
            "LASTBOLT_STATIC": str(folder / "static"),
        }
        tables.lay(folder / "demo.sqlite3")
        self.call("migrate", "--verbosity", "0")
        with override_settings(
            STATIC_ROOT=folder / "static",
            WHITENOISE_SKIP_COMPRESS_EXTENSIONS=["js", "css", "wasm", "svg", "map", "ttf", "eot"],
        ):  # compressing takes a core five seconds, and a phone's wait is not asked for here
            call_command("collectstatic", interactive=False, verbosity=0)
        short = ["--pictures", str(PICTURES)] if PICTURES else []
        self.printed = self.call("demo_walk", "--monday", MONDAY, *short).rstrip().split("\n")
        self.counts: dict[str, Any] = json.loads(self.printed[-1].removeprefix("demo: "))

    def call(self, *words: str) -> str:
        return self.run("manage.py", *words)

    def run(self, *words: str) -> str:
        command = [sys.executable, *words]
        done = subprocess.run(
            command, cwd=TOP, env=self.environment, capture_output=True, text=True, check=False
        )
        assert done.returncode == 0, done.stdout[-2000:] + done.stderr[-2000:]
        return done.stdout


@pytest.mark.sqlite_only
@pytest.mark.slow
def test_the_last_line_counts_what_was_done(walk: Walk) -> None:
    """Every picture is read or typed, at least one in thirty is typed, the kit is closed."""
    counts = walk.counts

    assert list(counts) == [
        *("pictures", "read", "typed", "scans", "refused", "duplicates"),
        *("findings", "closed", "requests", "digest"),
    ]
    assert counts["pictures"] == counts["read"] + counts["typed"]
    assert counts["pictures"] == (PICTURES or counts["pictures"])
    assert counts["typed"] >= counts["read"] / 30
    assert counts["scans"] >= 200
    assert counts["refused"] >= 4  # two wrong kits, a box at fitting, a kit that is not empty
    assert counts["duplicates"] >= 20
    assert counts["findings"] >= 3
    assert counts["closed"] == 1


@pytest.mark.sqlite_only
@pytest.mark.slow
def test_the_ledger_of_the_walk_is_whole(walk: Walk) -> None:
    """audit finds at least 200 events and no breach; its digest is the printed one."""
    checks = json.loads(walk.call("audit", "--json"))["checks"]

    assert max(check["read"] for check in checks) >= 200
    assert [check["problems"] for check in checks if check["problems"]] == []
    assert walk.call("audit", "--digest").strip() == walk.counts["digest"]


@pytest.mark.sqlite_only
@pytest.mark.slow
def test_the_story_tells_what_a_person_should_see(walk: Walk) -> None:
    """Refusals are told in the program's own words; log-ins stand before the last line."""
    story = "\n".join(walk.printed)

    for words in (
        "This belongs to another job. Set it aside for the warehouse.",
        "This belongs to J1005-1. Set it aside for that kit.",
        "This is the box's label. Scan the label on the thing itself.",
        "It stands in for the one that was reported.",
        "nothing changes",
        "J1003-1 is closed: nothing of it is left.",
        "set aside: the lower corner of the case is cracked",
        "brings 4 of it to Van 1",
        "enters a recall letter: three are named, of one nobody can tell",
        "3 and 1 whole box set aside for RC1. 2 to call: see the call list.",
    ):
        assert words in story
    for member in firms.read().members:
        assert f"{member.username:<6} {member.password}" in story


@pytest.mark.sqlite_only
@pytest.mark.slow
@pytest.mark.skipif(not FULL, reason="two whole walks: `make prove`")
def test_a_second_walk_gives_the_same_digest(walk: Walk, tmp_path: Path) -> None:
    """Ids, times, labels and pictures come from the seed."""
    again = Walk(tmp_path)

    assert again.counts == walk.counts


@pytest.mark.sqlite_only
@pytest.mark.django_db
def test_the_first_day_gives_the_same_digest_twice() -> None:
    """Catalogue, opening stock and what was built before are the same to the last id."""
    firm = firms.read()
    found = []
    for _ in range(2):
        with transaction.atomic():
            opening.load(firm, Clock(random.Random(firm.seed)))
            found.append(digest())
            transaction.set_rollback(True)

    assert found[0] == found[1]


@pytest.mark.parametrize(
    ("day", "monday"),
    [
        ("2026-11-16", "2026-11-16"),
        ("2026-11-17", "2026-11-16"),
        ("2026-11-18", "2026-11-23"),  # its Tuesday would have passed
        ("2026-11-22", "2026-11-23"),
    ],
)
def test_the_week_that_is_acted_out_is_open_still(day: str, monday: str) -> None:
    """Of the day on which it is made or the next; every day of the firm goes with it."""
    first = firms.week_for(date.fromisoformat(day))
    firm, before = firms.later(firms.read(), first - firms.read().monday), firms.read()

    assert (str(first), firm.monday) == (monday, first)
    assert {one.date.weekday() for one in firm.jobs} == {0, 1, 2, 3}
    by = first - before.monday
    assert [one.date - by for one in firm.built] == [one.date for one in before.built]
    ends = [(a.expires, b.expires) for a, b in zip(firm.stock, before.stock, strict=True)]
    assert {date.fromisoformat(a) - date.fromisoformat(b) for a, b in ends if b} == {by}


@pytest.mark.sqlite_only
@pytest.mark.slow
def test_the_walk_is_of_the_week_asked_for(walk: Walk) -> None:
    """A shorter word on a wrong day: nothing is walked."""
    story = "\n".join(walk.printed)

    assert f"The week of {MONDAY}" in story
    assert "Mon 08 Mar 06:" in story
    assert f"/week/?from={MONDAY}" in story
    with pytest.raises(CommandError, match="expected a Monday as 2026-11-16, got '2026-11-17'"):
        call_command("demo_walk", "--monday", "2026-11-17")


@pytest.mark.sqlite_only
@pytest.mark.slow
def test_a_database_with_people_in_it_is_refused(walk: Walk) -> None:
    """The walk never runs over a firm's own data."""
    command = [sys.executable, "manage.py", "demo_walk"]
    done = subprocess.run(
        command, cwd=TOP, env=walk.environment, capture_output=True, text=True, check=False
    )

    assert done.returncode == 1
    assert "expected an empty one, got one with people in it" in done.stderr


@pytest.mark.sqlite_only
@pytest.mark.slow
def test_axe_finds_nothing_serious_on_any_page(walk: Walk) -> None:
    """Names, labels, roles, landmarks and contrast of every page of the demo at a phone's width.

    axe-core's rules are after WCAG 2.2 and ARIA in HTML.
    """
    if not axe.SOURCE.exists():
        pytest.skip(axe.LACKING)
    told = walk.run("-m", "tests.axe").splitlines()[-1]

    found = re.fullmatch(r"axe: 0 serious or critical findings on (\d+) pages, 0 lesser", told)
    assert found, told
    assert int(found[1]) > 70
