"""What three crews do on a simulated day, as event fields; invented from a seed alone.

Nothing here looks at answers: people scan what they scan. On a day `apart` each crew has things of
its own; on the others all reach for the same things, kits and bins, and mix up steps.
"""

from __future__ import annotations

import random
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

from tests.laws.simulation.world import UNITS, Crew

Fields = dict[str, Any]
PHOTO = "ab" * 32  # an event names a photo by its sum; the picture itself comes on another way


@dataclass
class Day:
    """One crew's work: `act(progress)` is the next thing it does."""

    crews: tuple[Crew, ...]
    number: int  # which of the crews
    apart: bool
    dice: random.Random
    done: list[str] = field(default_factory=list)  # ids of this crew's events, oldest first

    def act(self, progress: float) -> Fields:
        """The next event, without id, device, number and time; progress: 0 morning, 1 evening."""
        # The hours overlap: there is put-away while kits are picked, picking while others load.
        hours = (
            (0.0, 0.6, self.DEPOT),
            (0.15, 0.65, self.PICK),
            (0.4, 0.75, self.LOAD),
            (0.55, 0.95, self.UNBOX),
            (0.7, 1.01, self.FIT),
        )
        if self.done and self.dice.random() < 0.06:
            return {"step": "undo", "reverses": self.dice.choice(self.done[-6:])}
        open_now = [acts for since, until, acts in hours if since <= progress < until]
        return self.dice.choice(self.dice.choice(open_now))(self)

    def crew(self) -> Crew:
        """Whose things they are."""
        if self.apart or self.dice.random() < 0.5:
            return self.crews[self.number]
        return self.dice.choice(self.crews)

    def kit(self, of: Crew, **fields: Any) -> Fields:
        """Fields about a kit: that of the crew whose thing it is, or by mistake another."""
        if not self.apart and self.dice.random() < 0.1:
            of = self.dice.choice(self.crews)
        return {**fields, "subject": of.subject}

    def serial(self) -> str:
        return f"N{self.dice.randrange(UNITS)}"

    def receive_unit(self) -> Fields:
        of, serial = self.crew(), self.serial()
        label, at = of.label(serial), self.dice.choice(("DOCK", *of.bins))
        if self.dice.random() < 0.4:
            text = f"BOX-{of.person.upper()}-{serial}"
            return {"step": "receive", "text": text, "with": label, "target": at}
        return {"step": "receive", "text": label, "via": "symbol", "target": at}

    def put_unit(self) -> Fields:
        of, serial = self.crew(), self.serial()
        text = self.dice.choice((of.label(serial), f"BOX-{of.person.upper()}-{serial}"))
        return {"step": "put", "text": text, "target": self.dice.choice(of.bins)}

    def receive_brackets(self) -> Fields:
        of, fields = self.crew(), self.some()
        return {"step": "receive", "text": of.bracket, "target": of.bins[0], **fields}

    def receive_batch(self) -> Fields:
        of, day = self.crew(), self.dice.choice(("270131", "280630"))
        text = f"]C101{of.sealant}17{day}10L{day}"
        return {"step": "receive", "text": text, "via": "symbol", "target": of.bins[0]}

    def put_brackets(self) -> Fields:
        of = self.crew()
        start, to = self.dice.sample(of.bins, 2)
        text = self.dice.choice((of.bracket, of.bracket, of.sealant))
        return {"step": "put", "text": text, "target": to, "from": start, **self.some()}

    def count(self) -> Fields:
        of = self.crew()
        found = self.dice.choice(({"kind": "none"}, {"quantity": self.dice.randint(1, 12)}))
        return {
            "step": "count",
            "text": of.bracket,
            "target": self.dice.choice(of.bins),
            **found,
        }

    def some(self) -> Fields:
        return self.dice.choice(({}, {"quantity": self.dice.randint(1, 9)}))

    def receive_for_a_kit(self) -> Fields:
        """What is said of who waits for it depends on every kit: not on a day apart."""
        if self.apart:
            return self.receive_unit()
        of = self.crew()
        box, _, label = self.dice.choice(of.boxed)
        return {"step": "receive", "text": box, "with": label, "target": "DOCK"}

    def unit_of_kit(self) -> tuple[Crew, str, str]:
        """Whose, the code of its box, and what is read on it: its serial or its whole label."""
        of = self.crew()
        box, serial, label = self.dice.choice(of.boxed)
        return of, box, self.dice.choice((serial, label))

    def pick_unit(self) -> Fields:
        of, box, serial = self.unit_of_kit()
        return self.kit(of, step="pick", text=self.dice.choice((box, box, serial)))

    def pick_line(self) -> Fields:
        of = self.crew()
        item, quantity = self.dice.choice(of.lines)
        wanted = self.dice.choice((quantity, quantity, max(1, quantity // 2)))
        start = {"from": of.bins[0]}
        return self.kit(of, step="pick", text=item, quantity=wanted, **start)

    def load(self) -> Fields:
        of, box, _ = self.unit_of_kit()
        text = self.dice.choice((box, box, of.parcel, self.dice.choice(of.lines)[0]))
        return self.kit(of, step="load", text=text)

    def move_box(self) -> Fields:
        of, box, _ = self.unit_of_kit()
        return {"step": "put", "text": box, "target": self.dice.choice(of.bins)}

    def unbox(self) -> Fields:
        of, box, serial = self.unit_of_kit()
        bag, item = self.dice.choice(of.bags), self.dice.choice(of.lines)[0]
        text = self.dice.choice((serial, serial, serial, bag, bag, item, of.parcel, box))
        return self.kit(of, step="unbox", text=text)

    def missing(self) -> Fields:
        of, _, serial = self.unit_of_kit()
        item, bag = self.dice.choice(of.lines)[0], self.dice.choice(of.bags)
        fields: Fields = self.dice.choice(
            ({"text": serial}, {"text": bag}, {"text": item, "quantity": 1})
        )
        return self.kit(of, step="missing", **fields)

    def damaged(self) -> Fields:
        of, _, serial = self.unit_of_kit()
        item = self.dice.choice(of.lines)[0]
        text = self.dice.choice((serial, item))
        return self.kit(of, step="damaged", text=text, photo=PHOTO, reason="damaged")

    def fit(self) -> Fields:
        of, box, serial = self.unit_of_kit()
        level = self.dice.randint(1, 2) if box.startswith("BOX-M") else 3
        position = {"stack": 1, "level": level}
        return self.kit(of, step="fit", text=serial, position=position)

    def commission(self) -> Fields:
        of, _, serial = self.unit_of_kit()
        return self.kit(of, step="commission", text=serial, number=self.dice.randint(1, 4))

    Act = Callable[["Day"], Fields]
    DEPOT: tuple[Act, ...] = (
        receive_unit,
        receive_for_a_kit,
        put_unit,
        receive_brackets,
        receive_batch,
        put_brackets,
        count,
    )
    PICK: tuple[Act, ...] = (pick_unit, pick_unit, pick_line, pick_line, move_box)
    LOAD: tuple[Act, ...] = (load, load, pick_line)
    UNBOX: tuple[Act, ...] = (unbox, unbox, unbox, missing, damaged)
    FIT: tuple[Act, ...] = (fit, fit, fit, commission, unbox, missing)
