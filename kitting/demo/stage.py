"""Where the walk plays: the firm, its people at work, the time, and the printed story."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field

from inventory.models import Place
from kitting.demo.eyes import Eyes
from kitting.demo.hand import Clock, Hand
from kitting.demo.opening import Opening
from kitting.demo.tally import Tally
from kitting.demo.visitor import Visitor
from kitting.demo.worker import Worker
from kitting.models import Kit


@dataclass(slots=True)
class Stage:
    """Everything the acts of the story share."""

    opening: Opening
    port: int
    tell: Callable[[str], None]  # prints one line
    tally: Tally
    eyes: Eyes
    workers: dict[str, Worker] = field(default_factory=dict)
    kits: dict[str, str] = field(default_factory=dict)  # key of a job -> code of its kit

    @property
    def clock(self) -> Clock:
        """The time of the story."""
        return self.opening.clock

    def sign_in(self, username: str, *, by_phone: bool = False) -> Worker:
        """Let somebody sign in and register the device that they hold."""
        member = self.opening.firm.member(username)
        browser = Visitor(self.port, username)
        browser.sign_in(member.password)
        device = self.clock.new_id()
        label = "phone" if by_phone else "bench"
        browser.call_json("/api/devices", {"device": str(device), "label": label})
        hand = Hand(self.clock, device)
        name = member.name.split()[0]
        self.workers[username] = Worker(name, browser, hand, self.eyes, self.tally, by_phone)
        return self.workers[username]

    def say(self, who: str, words: str) -> None:
        """Print one act with its day and time."""
        self.tell(f"{self.clock.now:%a %d %b %H:%M}  {who:<6} {words}")

    def aside(self, words: str) -> None:
        """Print what the program answered, under the act."""
        self.tell(f"{'':23}{words}")

    def kit(self, key: str) -> Kit:
        """Return the kit of a job of the week as the database has it now."""
        kits = Kit.objects.select_related("job__site__place", "job__van", "edition", "closed_by")
        return kits.get(code=self.kits[key])

    def place(self, name: str) -> Place:
        """Return a place of the firm by its name in the fixtures, as it stands now."""
        return Place.objects.get(pk=self.opening.places[name].pk)
