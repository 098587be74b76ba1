"""`manage.py demo_walk`: one week of an invented firm, acted out over HTTP."""

import json
import random
from argparse import ArgumentParser, ArgumentTypeError
from dataclasses import asdict
from datetime import date
from typing import Any

from django.core.management.base import CommandError
from django.utils import timezone

from inventory.management.command import OurCommand
from inventory.models import Person
from kitting.demo import firm as firms
from kitting.demo import opening, week
from kitting.demo.eyes import Eyes
from kitting.demo.hand import Clock
from kitting.demo.server import serving
from kitting.demo.stage import Stage
from kitting.demo.tally import Tally
from kitting.demo.visitor import Unexpected


class Command(OurCommand):
    """Walk one week of an invented firm through the pages and the API."""

    help = "Walk one week of an invented firm: needs an empty database, leaves a real one."

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Where the site is served afterwards (only printed), and a shorter walk for tests."""
        parser.add_argument("--address", default="127.0.0.1:8000", help="printed at the end")
        parser.add_argument("--json", action="store_true", help="only the counts, as JSON")
        parser.add_argument(
            "--monday",
            type=_monday,
            help="of the week to act out; without it of this one, from Wednesday on of the next",
        )
        parser.add_argument(
            "--pictures", type=int, help="photograph only so many labels, take the rest as read"
        )

    def handle(self, *args: Any, **options: Any) -> None:
        """Print the story, then the log-ins; the last line is for programs."""
        if Person.objects.exists():
            raise CommandError("database: expected an empty one, got one with people in it")
        self._silent = options["json"]
        firm = firms.read()
        by = (options["monday"] or firms.week_for(timezone.localdate())) - firm.monday
        firm = firms.later(firm, by)
        self._tell(f"{firm.name} of {firm.town}, an invented firm. The week of {firm.monday}.\n")
        opened = opening.load(firm, Clock(random.Random(firm.seed), by))
        tally = Tally()
        eyes = Eyes(random.Random(firm.seed + 2), tally, options["pictures"])
        try:
            with serving() as port:
                stage = Stage(opened, port, self._tell, tally, eyes)
                week.play(stage)
                week.close(stage)
        except Unexpected as fault:
            raise CommandError(f"the walk ended: {fault}") from fault
        for line in _farewell(firm, options["address"], stage):
            self._tell(line)
        self._tell(tally.last_line())
        if options["json"]:
            self.stdout.write(json.dumps(asdict(tally)))

    def _tell(self, line: str) -> None:
        if not self._silent:
            self.stdout.write(line)
            self.stdout.flush()


def _monday(text: str) -> date:
    """A Monday as 2026-11-16. Raises ArgumentTypeError."""
    try:
        day = date.fromisoformat(text)
    except ValueError:
        day = None
    if day is None or day.weekday() != 0:
        raise ArgumentTypeError(f"expected a Monday as 2026-11-16, got {text!r}")
    return day


def _farewell(firm: firms.Firm, address: str, stage: Stage) -> list[str]:
    """The address, the log-ins, and what to look at first."""
    codes = {key: code.rpartition("-")[0] for key, code in stage.kits.items()}
    lines = ["", f"Served at http://{address}/ with these log-ins:"]
    for member in firm.members:
        roles = ", ".join(member.roles)
        lines.append(f"  {member.username:<6} {member.password:<24} {member.name}, {roles}")
    return [
        *lines,
        "Look first at:",
        f"  mona   http://{address}/week/?from={firm.monday}  four jobs, and why one will break",
        f"  wanda  http://{address}/kits/{stage.kits['expansion']}/pick  half picked",
        f"  tove   http://{address}/my/{codes['row']}/  her van, with a problem on it",
        f"  mona   http://{address}/recalls/  and whom to call about it",
        f"  wanda  http://{address}/problems/ and http://{address}/returns/",
    ]
