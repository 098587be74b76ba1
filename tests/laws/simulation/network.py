"""Phones and the network between them and the server, with everything that can go wrong there.

A phone does what the pages' queue does: an event is numbered and kept before anything is sent; the
oldest that wait are sent, at most twenty at once; what the server names is answered; answered
events are kept, and sent again to a server that was put back from an old copy. All chance comes
from one seed: a run can be had again.
"""

from __future__ import annotations

import json
import random
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from typing import Any
from unittest import mock
from uuid import UUID

from django.db import connection, transaction
from django.test import Client

from inventory.ledger.ids import uuid7
from inventory.models import Event
from tests import firm
from tests.laws.simulation.day import Day, Fields
from tests.laws.simulation.world import Copies

BATCH = 20
DEVICES = "/api/devices"
MORNING = datetime(2026, 11, 25, 6, 0, tzinfo=UTC)
FAULTS = (
    "request lost",
    "answer lost",
    "sent twice",
    "came late",
    "clock jumped",
    "phone restarted",
    "old copy of a phone restored",
    "server put back from an old copy",
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


@dataclass(frozen=True, slots=True)
class Parcel:
    """What a phone sends, whose it is and where to."""

    person: str
    address: str
    body: str


class Server:
    """The product behind its own HTTP interface, in this process."""

    def __init__(self, phones: dict[str, Client]) -> None:
        self.phones = phones

    def post(self, parcel: Parcel, kill: Kill | None = None) -> Any:
        """What the server answers; None when it was killed over it."""
        try:
            if kill is None:
                return self._post(parcel)
            with connection.execute_wrapper(kill):
                return self._post(parcel)
        except Killed:
            connection.close()  # what the system does with a dead process' session
            return None

    def _post(self, parcel: Parcel) -> Any:
        kind = "application/json" if parcel.address == DEVICES else "application/x-ndjson"
        phone = self.phones[parcel.person]
        # Whoever waits is said by the day: the same one as where the history is taken again.
        with mock.patch("django.utils.timezone.now", return_value=firm.NOW):
            answer = phone.post(parcel.address, parcel.body, content_type=kind, secure=True)
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
        seq = memory["seq"]
        memory["rows"].append({"id": uid, "seq": seq, "line": line, "answered": False})
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

    def again(self, highest: int, gaps: list[list[int]]) -> None:
        """Let wait what the server does not have."""
        memory = json.loads(self.stored)
        for row in memory["rows"]:
            lacking = any(first <= row["seq"] <= last for first, last in gaps)
            row["answered"] = row["answered"] and row["seq"] <= highest and not lacking
        self.stored = json.dumps(memory)

    def batch(self) -> Parcel:
        """The oldest that wait, and the last that was answered."""
        rows = json.loads(self.stored)["rows"]
        newest = max((row["seq"] for row in rows if row["answered"]), default=0)
        address = f"/api/events?device={self.device}&after={newest}"
        return Parcel(self.person, address, "\n".join(self.waiting()[:BATCH]))

    def meet(self) -> Parcel:
        """What a page asks when it is opened."""
        return Parcel(self.person, DEVICES, json.dumps({"device": self.device}))


@dataclass
class Run:
    """One simulated day over a bad network."""

    server: Server
    phones: list[Phone]
    days: list[Day]
    acts: int  # of each phone
    dice: random.Random
    databases: Copies
    put_back: bool  # whether the server is put back on this day; else phones are
    made: list[tuple[str, str]] = field(default_factory=list)  # (person, line) as people made them
    true: dict[str, str] = field(default_factory=dict)  # line -> when it was really made
    struck: Counter[str] = field(default_factory=Counter)
    late: list[tuple[int, Parcel]] = field(default_factory=list)  # when it arrives
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
            self._told(phone, self.server.post(phone.meet()))
            while phone.waiting():
                self._answer(phone, self.server.post(phone.batch()))

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
            self._copy(phone)
        elif chance < 0.14:
            self._restore(phone)

    def _copy(self, phone: Phone) -> None:
        """A copy is made of the server or, on other days, of the phone."""
        if self.put_back:
            if self.dice.random() < 0.7:
                return  # a copy of a database takes its time
            self.databases.keep()
        self.copies[phone.device] = phone.stored

    def _restore(self, phone: Phone) -> None:
        """The copy made last takes its place again.

        Never of both on one day: what only the phone and only the server had would be gone.
        """
        if phone.device not in self.copies or (phone.waiting() and not self.put_back):
            return
        old = self.copies.pop(phone.device)
        if self.put_back:
            self.copies.clear()
            before = set(Event.objects.values_list("uid", flat=True))
            self.databases.put_back()
            gone = before - set(Event.objects.values_list("uid", flat=True))
            self.first = {uid: said for uid, said in self.first.items() if UUID(uid) not in gone}
            self.struck["server put back from an old copy"] += bool(gone)
            return
        # It numbers on from an old count and sends again what waited when it was copied.
        self.struck["old copy of a phone restored"] += json.loads(old)["seq"] < phone.seq()
        phone.stored = old

    def _send(self, phone: Phone) -> None:
        if not phone.waiting():
            return
        parcel, chance = phone.batch(), self.dice.random()
        if chance < 0.08:
            self.struck["request lost"] += 1
        elif chance < 0.16:
            self.struck["answer lost"] += 1
            self._heard(self.server.post(parcel))
        elif chance < 0.24:
            self.struck["came late"] += 1
            self.late.append((self.tick + self.dice.randint(2, 60), parcel))
        elif chance < 0.32:
            self.struck["sent twice"] += 1
            self._answer(phone, self.server.post(parcel))
            self._heard(self.server.post(parcel))
        elif chance < 0.44:
            self._send_to_death(phone, parcel)
        else:
            self._answer(phone, self.server.post(parcel))

    def _send_to_death(self, phone: Phone, parcel: Parcel) -> None:
        """The server is killed over it; where it was done before that happened, it answers."""
        after = self.dice.random() < 0.5
        answer = self.server.post(parcel, Kill(None if after else self.dice.randint(1, 12)))
        if answer is None:
            name = "killed between commit and answer" if after else "killed before the commit"
            self.struck[name] += 1
            return
        self._answer(phone, answer)

    def _deliver(self, until: int | None) -> None:
        """What was long under way arrives; nobody listens for its answer any more."""
        due = [one for one in self.late if until is None or one[0] <= until]
        self.late = [one for one in self.late if one not in due]
        for _, parcel in due:
            self._heard(self.server.post(parcel))

    def _answer(self, phone: Phone, answer: Any) -> None:
        self._heard(answer)
        phone.answered({result["id"] for result in answer["results"]})
        self._told(phone, answer)

    def _told(self, phone: Phone, answer: Any) -> None:
        phone.again(answer["high_water"], answer["missing"])

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
