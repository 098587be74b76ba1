"""A state machine of phones that scan, upload, lose answers, send again and garble lines.

`Ledger` is what it drives: the model in memory, or the real intake compared with the model.
"""

from __future__ import annotations

import json
import uuid
from typing import Any, Protocol

from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, invariant, rule

from tests.laws.model import BRACKETS, PLACES

DEVICES = [str(uuid.UUID(int=(7 << 76) | (2 << 62) | n)) for n in (1, 2, 3)]
SERIALS = [f"]C1010952123400001321{serial}" for serial in ("A1", "B2", "C3")]
place = st.sampled_from(PLACES)
device = st.sampled_from(DEVICES)
Holdings = dict[tuple[str, str], int]


class Ledger(Protocol):
    """What the machine needs to know of a ledger."""

    def take(self, raw: str) -> tuple[str, bool]: ...
    def holdings(self) -> Holdings: ...
    def units(self) -> dict[str, str]: ...
    def gaps(self, device: str) -> list[tuple[int, int]]: ...


class Scanning(RuleBasedStateMachine):
    """Three phones, three serials, one shared code, six places."""

    ledger: Ledger

    def __init__(self) -> None:
        super().__init__()
        self.seq = dict.fromkeys(DEVICES, 0)
        self.queue: dict[str, list[str]] = {name: [] for name in DEVICES}  # not yet answered
        self.answers: dict[str, str] = {}  # line -> verdict that was given first
        self.before: dict[str, Holdings] = {}  # event id -> holdings before it
        self.last = ""  # id of the last event that was stored
        self.count = 0

    def make(self, name: str, step: str, **fields: Any) -> None:
        self.seq[name] += 1
        self.count += 1
        data = {
            "v": 1,
            "id": str(uuid.UUID(int=(8 << 76) | (2 << 62) | self.count)),
            "device": name,
            "seq": self.seq[name],
            "at": "2026-11-25T06:10:00Z",
            "step": step,
            **{key.rstrip("_"): value for key, value in fields.items() if value},
        }
        self.queue[name].append(json.dumps(data))

    @rule(
        name=device,
        step=st.sampled_from(["receive", "put"]),
        text=st.sampled_from(SERIALS),
        to=place,
    )
    def scan_a_unit(self, name: str, step: str, text: str, to: str) -> None:
        self.make(name, step, text=text, target=to)

    @rule(name=device, to=place, start=place, quantity=st.integers(0, 9))
    def put_brackets(self, name: str, to: str, start: str, quantity: int) -> None:
        self.make(name, "put", text=BRACKETS, target=to, from_=start, quantity=quantity)

    @rule(
        name=device,
        to=place,
        step=st.sampled_from(["receive", "count"]),
        quantity=st.integers(0, 9),
    )
    def receive_or_count_brackets(self, name: str, to: str, step: str, quantity: int) -> None:
        self.make(name, step, text=BRACKETS, target=to, quantity=quantity)

    @rule(name=device, back=st.integers(0, 5))
    def undo(self, name: str, back: int) -> None:
        stored = list(self.before)
        if stored:
            self.make(name, "undo", reverses=stored[-1 - min(back, len(stored) - 1)])

    @rule(name=device)
    def lose_one_for_a_while(self, name: str) -> None:
        """The oldest line goes to the end: it comes late, or never."""
        if self.queue[name]:
            self.queue[name].append(self.queue[name].pop(0))

    @rule(name=device, most=st.integers(1, 6), answered=st.booleans())
    def upload(self, name: str, most: int, answered: bool) -> None:
        """Without an answer the lines stay in the queue and come again."""
        for raw in self.queue[name][:most]:
            self.send(raw)
        if answered:
            del self.queue[name][:most]

    @rule(back=st.integers(0, 20))
    def resend(self, back: int) -> None:
        """I7: an event that came before changes nothing and gets its first answer again."""
        lines = list(self.answers)
        if lines:
            self.send(lines[-1 - min(back, len(lines) - 1)])

    @rule(back=st.integers(0, 20), to=place)
    def send_another_body(self, back: int, to: str) -> None:
        """I8: another body under a known id is refused and changes nothing."""
        stored = [raw for raw, verdict in self.answers.items() if verdict != "refused"]
        if not stored:
            return
        data = json.loads(stored[-1 - min(back, len(stored) - 1)])
        data["reason"] = f"other {to}"
        before = self.ledger.holdings()

        assert self.ledger.take(json.dumps(data)) == ("refused", False)
        assert self.ledger.holdings() == before

    def send(self, raw: str) -> None:
        before = self.ledger.holdings()
        verdict, duplicate = self.ledger.take(raw)
        assert duplicate == (raw in self.answers)
        if duplicate:
            assert verdict == self.answers[raw]
            assert self.ledger.holdings() == before
            return
        self.answers[raw] = verdict
        data = json.loads(raw)
        if data["step"] == "undo" and verdict == "applied" and data["reverses"] == self.last:
            # I12: nothing else came between.
            assert self.ledger.holdings() == self.before[self.last]
        self.before[data["id"]], self.last = before, data["id"]

    @invariant()
    def every_thing_sums_to_zero(self) -> None:
        """I1, I2: what left one place entered another."""
        for lot in ("MOD", "BRA"):
            assert sum(q for (_, of), q in self.ledger.holdings().items() if of == lot) == 0

    @invariant()
    def nothing_of_ours_is_below_zero(self) -> None:
        """I3."""
        assert all(q >= 0 for (at, _), q in self.ledger.holdings().items() if at in PLACES)

    @invariant()
    def each_unit_is_in_one_place(self) -> None:
        """I4, I5: as many units stand at a place as its holding says."""
        stands = list(self.ledger.units().values())
        for at in PLACES:
            assert self.ledger.holdings().get((at, "MOD"), 0) == stands.count(at)

    @invariant()
    def each_missing_number_lies_in_a_gap(self) -> None:
        """I9: below the highest number that came, what did not come is missing."""
        came: dict[str, set[int]] = {}
        for raw in self.answers:
            data = json.loads(raw)
            came.setdefault(data["device"], set()).add(data["seq"])
        for name in DEVICES:
            numbers = came.get(name, set())
            absent = set(range(1, max(numbers, default=0) + 1)) - numbers
            gaps = self.ledger.gaps(name)
            assert {n for first, last in gaps for n in range(first, last + 1)} == absent
