"""Simulated days in a database of their own: `python -m tests.laws.simulation NAME ...`.

run FIRST SEEDS ACTS FOLDER  days over a bad network; writes each history, prints what struck and
                             the digest of each seed
again FOLDER                 the same histories without a fault, each scan answered at once; prints
                             the digest of each seed as "calm", and as "clocks" the seeds that end
                             otherwise when every clock is right
both FIRST SEEDS ACTS FOLDER one after the other on the same database

On even seeds each crew works with things of its own: whatever the network does, what stands in the
end must be what stands when every scan arrives as it is made. On odd seeds all reach for the same
things, and whose scan comes first decides, as it does on a day without faults: there the scans are
taken again in the order in which they arrived first.
"""

from __future__ import annotations

import hashlib
import json
import os
import random
import re
import sys
from pathlib import Path
from typing import Any

import django

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "kitting.settings")
django.setup()

from django.test import Client  # noqa: E402  Django must be set up first
from django.test.utils import setup_test_environment  # noqa: E402

from inventory import audit, digest, intake  # noqa: E402
from inventory.models import Device, DeviceGap, Event, Person, Return  # noqa: E402
from tests import firm  # noqa: E402
from tests.laws.simulation.day import Day  # noqa: E402
from tests.laws.simulation.network import FAULTS, Run, Server, phones_of  # noqa: E402
from tests.laws.simulation.world import Copies, Crew, build  # noqa: E402

AUDITED = 10  # every so manieth seed is audited and rebuilt as well


def run(crews: tuple[Crew, ...], copies: Copies, seeds: range, acts: int, folder: Path) -> Any:
    told: dict[str, Any] = {"struck": dict.fromkeys(FAULTS, 0), "digests": {}, "events": 0}
    steps: dict[str, int] = {}
    for seed in seeds:
        copies.fresh()
        days = [
            Day(crews, n, seed % 2 == 0, random.Random(f"{seed} day {n}"))
            for n in range(len(crews))
        ]
        server = Server({person.username: _signed_in(person) for person in _people(crews)})
        dice, put_back = random.Random(f"{seed} network"), seed % 4 in (0, 3)
        day = Run(server, phones_of(days), days, acts, dice, copies, put_back)
        begun = Event.objects.count()
        day.go()
        _nothing_lost(day, begun)
        for name, count in day.struck.items():
            told["struck"][name] += count
        told["events"] += len(day.made)
        for _, line in day.made:
            step = json.loads(line)["step"]
            steps[step] = steps.get(step, 0) + 1
        told["digests"][seed] = _digest(folder / f"{seed}.run", apart=seed % 2 == 0)
        if seed % AUDITED < 2:
            _audited()
        _write(folder / f"{seed}.jsonl", day, apart=seed % 2 == 0, begun=begun)
    return told | {"steps": steps}


def _digest(path: Path, *, apart: bool) -> str:
    """The digest of the state; the state itself stays in a file, to see where two differ."""
    state = _by_event() if apart else list(digest.state())
    path.write_text("\n".join(state))
    return hashlib.sha256(path.read_bytes()).hexdigest()


def _by_event() -> list[str]:
    """The state, but each return under its event: of all crews' returns the first to come is R1."""
    codes = {code: str(uid) for code, uid in Return.objects.values_list("code", "event__uid")}
    section, found = "", []
    for line in digest.state():
        if line.startswith("# "):
            section = line
        # Elsewhere R2 is a rule of a parts list.
        named = codes if section.startswith("# return") else {}
        row = re.sub('"(R[0-9]+)"', lambda told, by=named: f'"{by.get(told[1], told[1])}"', line)
        found.append(f"{section} {row}")
    return sorted(found)


def _people(crews: tuple[Crew, ...]) -> list[Person]:
    return list(Person.objects.filter(username__in=[crew.person for crew in crews]))


def _signed_in(person: Person) -> Client:
    client = Client()
    client.force_login(person)
    return client


def _nothing_lost(day: Run, begun: int) -> None:
    """Every scan is there once, byte for byte, and no number is waited for."""
    stored = list(Event.objects.order_by("number").values_list("line", flat=True))[begun:]
    assert sorted(stored) == sorted(line for _, line in day.made)
    assert not DeviceGap.objects.exists()
    for phone in day.phones:
        numbers = [json.loads(line)["seq"] for name, line in day.made if name == phone.person]
        assert Device.objects.get(uid=phone.device).high_water == max(numbers)


def _audited() -> None:
    """Every check holds, and what stands beside the ledger follows from it."""
    problems = [f"{one.name}: {words}" for one in audit.run() for words in one.problems]
    assert problems == []
    state = digest.digest()
    audit.rebuild()
    assert digest.digest() == state


def _write(path: Path, day: Run, *, apart: bool, begun: int) -> None:
    order = day.made
    if not apart:
        by = {line: person for person, line in day.made}
        arrived = Event.objects.order_by("number").values_list("line", flat=True)
        order = [(by[line], line) for line in list(arrived)[begun:]]
    path.write_text("".join(f"{person}\t{day.true[line]}\t{line}\n" for person, line in order))


def again(copies: Copies, folder: Path) -> dict[str, Any]:
    """Take each history line by line; every tenth also as if no clock had ever been wrong."""
    calm: dict[int, str] = {}
    clocks: list[int] = []
    for path in sorted(folder.glob("*.jsonl"), key=lambda path: int(path.stem)):
        seed = int(path.stem)
        history = [entry.split("\t") for entry in path.read_text().splitlines()]
        _take(copies, [(person, line) for person, _, line in history])
        calm[seed] = _digest(folder / f"{seed}.again", apart=seed % 2 == 0)
        if seed % AUDITED == 1:
            _take(copies, [(person, _at(line, true)) for person, true, line in history])
            _digest(folder / f"{seed}.clocks", apart=seed % 2 == 0)
            if _without_sums(folder / f"{seed}.clocks") != _without_sums(folder / f"{seed}.again"):
                clocks.append(seed)
    return {"calm": calm, "clocks": clocks}


def _take(copies: Copies, history: list[tuple[str, str]]) -> None:
    copies.fresh()
    people = {person.username: person for person in Person.objects.all()}
    for name, line in history:
        (result,) = intake.take(people[name], [line], firm.NOW)
        assert not result.duplicate, result


def _at(line: str, true: str) -> str:
    return json.dumps(json.loads(line) | {"at": true})


def _without_sums(path: Path) -> str:
    """The state but for the sums of the lines, which a time in them changes."""
    return re.sub('"[0-9a-f]{64}"', "sum", path.read_text())


def main(name: str, *arguments: str) -> None:
    setup_test_environment()
    crews = build()
    copies, folder, told = Copies(), Path(arguments[-1]), dict[str, Any]()
    if name in ("run", "both"):
        first, seeds, acts = map(int, arguments[:3])
        told |= run(crews, copies, range(first, first + seeds), acts, folder)
    if name in ("again", "both"):
        told |= again(copies, folder)
    print(json.dumps(told))


if __name__ == "__main__":
    main(*sys.argv[1:])
