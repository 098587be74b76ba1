"""Phones and the network between them and the server, with everything that can go wrong there.

A phone does what the pages' queue does: an event is numbered and kept before anything is sent; the
oldest that wait are sent, at most twenty at once; what the server names is answered; answered
events are kept. All chance comes from one seed: a run can be had again.
"""

from __future__ import annotations

import json
import random
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from typing import Any

from django.db import connection, transaction
from django.test import Client

from inventory.ledger.ids import uuid7
from tests.laws.simulation.day import Day, Fields

BATCH = 20
MORNING = datetime(2026, 11, 25, 6, 0, tzinfo=UTC)
FAULTS = (
    "request lost",
    "answer lost",
    "sent twice",
    "came late",
    "clock jumped",
    "phone restarted",
    "old copy of a phone restored",
    "killed before the commit",
    "killed between commit and answer",
)


class Killed(BaseException):
    """The server's process is gone; no `except Exception` notices it."""


class Kill:
    """Ends the process at one of its writes, or right after a commit."""

    def __init__(self, at: int | None) -> None:
        self.at, self.seen = at, 0  # at: which INSERT; None: after the first commit

    def __call__(
        self, execute: Callable[..., Any], sql: str, params: Any, many: bool, context: Any
    ) -> Any:
        if sql.startswith("INSERT"):
            self.seen += 1
            if self.at is None:
                transaction.on_commit(_die)
            elif self.seen == self.at:
                raise Killed
        return execute(sql, params, many, context)


def _die() -> None:
    raise Killed


class Server:
    """The product behind its own HTTP interface, in this process."""

    def __init__(self, phones: dict[str, Client]) -> None:
        self.phones = phones

    def post(self, person: str, body: str, kill: Kill | None = None) -> Any:
        """What the server answers; None when it was killed over it."""
        try:
            if kill is None:
                return self._post(person, body)
            with connection.execute_wrapper(kill):
                return self._post(person, body)
        except Killed:
            connection.close()  # what the system does with a dead process' session
            return None

    def _post(self, person: str, body: str) -> Any:
        answer = self.phones[person].post(
            "/api/events", body, content_type="application/x-ndjson", secure=True
        )
        assert answer.status_code == 200, answer.content
        return answer.json()


@dataclass
class Phone:
    """A phone in a crew's hand; all it knows is in `stored`, as text, as a browser keeps it."""

    person: str
    device: str
    stored: str = '{"seq": 0, "rows": []}'
    skew: timedelta = timedelta()

    def keep(self, uid: str, at: datetime, fields: Fields) -> str:
        """Number an event and keep it; its line."""
        memory = json.loads(self.stored)
        memory["seq"] += 1
        line = json.dumps(
            {
                "v": 1,
                "id": uid,
                "device": self.device,
                "seq": memory["seq"],
                "at": (at + self.skew).isoformat(),
                **fields,
            }
        )
        memory["rows"].append({"id": uid, "line": line, "answered": False})
        self.stored = json.dumps(memory)
        return line

    def waiting(self) -> list[str]:
        return [row["line"] for row in json.loads(self.stored)["rows"] if not row["answered"]]

    def seq(self) -> int:
        return int(json.loads(self.stored)["seq"])

    def answered(self, ids: set[str]) -> None:
        memory = json.loads(self.stored)
        for row in memory["rows"]:
            row["answered"] = row["answered"] or row["id"] in ids
        self.stored = json.dumps(memory)


@dataclass
class Run:
    """One simulated day over a bad network."""

    server: Server
    phones: list[Phone]
    days: list[Day]
    acts: int  # of each phone
    dice: random.Random
    made: list[tuple[str, str]] = field(default_factory=list)  # (person, line) as people made them
    true: dict[str, str] = field(default_factory=dict)  # line -> when it was really made
    struck: Counter[str] = field(default_factory=Counter)
    late: list[tuple[int, str, str]] = field(default_factory=list)  # (when, person, body)
    first: dict[str, dict[str, Any]] = field(default_factory=dict)  # id -> its first answer
    copies: dict[str, str] = field(default_factory=dict)  # device -> an old copy of its store
    tick: int = 0

    def go(self) -> None:
        """Run the day, then give every phone signal until nothing waits."""
        left = {phone.device: self.acts for phone in self.phones}
        signal = dict.fromkeys(left, True)
        while any(left.values()):
            self.tick += 1
            self._deliver(self.tick)
            number = self.dice.randrange(len(self.phones))
            phone = self.phones[number]
            if self.dice.random() < 0.08:
                signal[phone.device] = not signal[phone.device]
            if left[phone.device] and self.dice.random() < 0.8:
                self._scan(phone, self.days[number], 1 - left[phone.device] / self.acts)
                left[phone.device] -= 1
            self._meddle(phone)
            if signal[phone.device] and self.dice.random() < 0.35:
                self._send(phone)
        self._deliver(None)
        for phone in self.phones:
            while phone.waiting():
                self._answer(phone, self.server.post(phone.person, self._batch(phone)))

    def _scan(self, phone: Phone, day: Day, progress: float) -> None:
        uid = str(uuid7(self.tick, self.dice.getrandbits(74)))
        at = MORNING + timedelta(seconds=self.tick)
        line = phone.keep(uid, at, day.act(progress))
        self.true[line] = at.isoformat()
        day.done.append(uid)
        self.made.append((phone.person, line))

    def _meddle(self, phone: Phone) -> None:
        """What befalls the phone itself."""
        chance = self.dice.random()
        if chance < 0.02:
            self.struck["clock jumped"] += 1
            phone.skew = timedelta(seconds=self.dice.choice((0, 3600, -3600, 400 * 86400, -9e7)))
        elif chance < 0.04:
            self.struck["phone restarted"] += 1
            number = self.phones.index(phone)
            self.phones[number] = Phone(phone.person, phone.device, phone.stored, phone.skew)
        elif chance < 0.07:
            self.copies[phone.device] = phone.stored
        elif chance < 0.14 and not phone.waiting() and phone.device in self.copies:
            # It numbers on from an old count and sends again what waited when it was copied.
            old = self.copies.pop(phone.device)
            self.struck["old copy of a phone restored"] += json.loads(old)["seq"] < phone.seq()
            phone.stored = old

    def _batch(self, phone: Phone) -> str:
        return "\n".join(phone.waiting()[:BATCH])

    def _send(self, phone: Phone) -> None:
        if not phone.waiting():
            return
        body, chance = self._batch(phone), self.dice.random()
        if chance < 0.08:
            self.struck["request lost"] += 1
        elif chance < 0.16:
            self.struck["answer lost"] += 1
            self._heard(self.server.post(phone.person, body))
        elif chance < 0.24:
            self.struck["came late"] += 1
            self.late.append((self.tick + self.dice.randint(2, 60), phone.person, body))
        elif chance < 0.32:
            self.struck["sent twice"] += 1
            self._answer(phone, self.server.post(phone.person, body))
            self._heard(self.server.post(phone.person, body))
        elif chance < 0.44:
            self._send_to_death(phone, body)
        else:
            self._answer(phone, self.server.post(phone.person, body))

    def _send_to_death(self, phone: Phone, body: str) -> None:
        """The server is killed over it; where it was done before that happened, it answers."""
        after = self.dice.random() < 0.5
        answer = self.server.post(
            phone.person, body, Kill(None if after else self.dice.randint(1, 12))
        )
        if answer is None:
            name = "killed between commit and answer" if after else "killed before the commit"
            self.struck[name] += 1
            return
        self._answer(phone, answer)

    def _deliver(self, until: int | None) -> None:
        """What was long under way arrives; nobody listens for its answer any more."""
        due = [one for one in self.late if until is None or one[0] <= until]
        self.late = [one for one in self.late if one not in due]
        for _, person, body in due:
            self._heard(self.server.post(person, body))

    def _answer(self, phone: Phone, answer: Any) -> None:
        self._heard(answer)
        phone.answered({result["id"] for result in answer["results"]})

    def _heard(self, answer: Any) -> None:
        """Whoever listens: an event is answered the same each time it comes."""
        for result in answer["results"]:
            said = {name: result[name] for name in ("verdict", "sentence", "number")}
            before = self.first.setdefault(result["id"], said)
            # What waited is decided anew when the thing comes; all else is decided once.
            if before["verdict"] != "waiting":
                assert said == before, (said, before)


def phones_of(days: list[Day]) -> list[Phone]:
    """A new phone for each crew."""
    return [Phone(day.crews[day.number].person, day.crews[day.number].device) for day in days]
