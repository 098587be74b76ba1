"""The figures of a kit: how far each item, each line and the whole have come."""

from __future__ import annotations

from dataclasses import dataclass, field

from inventory.models import Item
from kitting.models import Kit, KitLine
from kitting.packed_pieces import Piece
from kitting.shelves import Spot


@dataclass(slots=True)
class Total:
    """One item of a kit; every figure in base units of the item."""

    item: Item
    needed: int = 0
    spare: int = 0  # of the needed, what is taken besides and comes back if it is not used
    in_boxes: int = 0  # comes in the box of another thing, not picked on its own
    box_of: Item | None = None  # the thing in whose box it comes
    on_van: int = 0  # what van and crew always carry: a tool, what their standing lists cover
    carried: tuple[Spot, ...] = ()  # where of it, less a tool in an earlier visit's parcel
    at_depot: int = 0  # packed, not loaded
    loaded_now: int = 0  # in the kit's parcels on the van, or unopened at the site
    on_site: int = 0  # seen at the site, loose or in an opened bag
    fitted: int = 0
    used: int = 0
    back: int = 0
    lost: int = 0  # left the kit as missing, and is neither found nor replaced
    out_of_boxes: int = 0  # of what was seen: it came in the box of another thing
    missing: int = 0  # reported missing and not found since
    damaged: int = 0
    dispute: int = 0  # claimed twice, a person decides
    cancelled: bool = False  # the job is: nothing of it is wanted any more
    undecided: int = 0  # of the need: the answer to an open question may leave so much unused
    uncut: int | None = None  # of a length: mm of all pieces that nothing packed or boxed holds
    unwanted: tuple[Piece, ...] = ()  # of such a length: packed pieces that hold nothing wanted

    @property
    def left_over(self) -> int:
        """In the kit beyond all that is needed or was damaged, and still free to go back."""
        held = self.at_depot + self.loaded_now + self.on_site
        if self.uncut is not None and not self.cancelled:
            over = sum(piece.mm for piece in self.unwanted) - self.damaged
            return max(min(held, over), 0)  # a piece longer than its need is not too much
        needed = 0 if self.cancelled else self.needed
        return max(min(held, held + self.done - needed - self.damaged), 0)

    @property
    def picked(self) -> int:
        """Taken for the kit so far, wherever it is now."""
        return self.at_depot + self.loaded - self.out_of_boxes

    @property
    def loaded(self) -> int:
        """Went on the van so far."""
        return self.loaded_now + self.seen + self.lost

    @property
    def seen(self) -> int:
        """Seen at the site so far."""
        return self.on_site + self.fitted + self.used + self.back

    @property
    def done(self) -> int:
        """Fitted or used."""
        return self.fitted + self.used

    @property
    def to_pick(self) -> int:
        """Still to be taken from the shelves; of a length each piece whole."""
        if self.uncut is not None:
            return self.uncut
        return max(self.needed - self.in_boxes - self.on_van - self.picked, 0)

    @property
    def must_pick(self) -> int:
        """Of these what the job cannot do without."""
        return max(self.to_pick - self.spare, 0)

    @property
    def to_replace(self) -> int:
        """Of what the job takes: packed once, now damaged or missing, and nothing stands in."""
        good = self.picked - self.lost - self.damaged
        lacking = self.planned - self.in_boxes - self.on_van - good - self.must_pick
        return max(min(lacking, self.lost + self.damaged), 0)

    @property
    def planned(self) -> int:
        """What the job takes, spares left out."""
        return self.needed - self.spare

    @property
    def behind(self) -> int:
        """Of what the job takes: neither on the van nor gone on from it."""
        return self._lacking(self.loaded - self.lost)

    @property
    def unseen(self) -> int:
        """Of what the job takes: nobody has seen it at the site, or only a damaged one."""
        return self._lacking(self.seen - self.damaged)

    def _lacking(self, there: int) -> int:
        left = self.planned - self.in_boxes - self.on_van - there + self.out_of_boxes
        return max(min(left, self.planned), 0)

    @property
    def sure(self) -> int:
        """What the job takes whatever the answers to open questions turn out to be."""
        return self.planned - self.undecided


@dataclass(frozen=True, slots=True)
class LineProgress:
    """One line of a kit; every figure in base units, only `picked` may be above the need."""

    line: KitLine
    needed: int
    in_boxes: int
    on_van: int
    picked: int
    loaded: int
    seen: int
    done: int  # fitted or used
    back: int
    missing: int
    damaged: int
    dispute: bool
    uncut: tuple[int, ...] | None = None  # of a length: mm of each piece that nothing holds
    came_of: tuple[str, ...] = ()  # of a closed kit: what became of it

    @property
    def to_pick(self) -> int:
        """Still to be taken from the shelves; of a length each piece whole."""
        if self.uncut is not None:
            return sum(self.uncut)
        return max(self.needed - self.in_boxes - self.on_van - self.picked, 0)

    @property
    def state(self) -> str:
        """One word: dispute, missing, damaged, done, seen, loaded, picked, some or needed.

        Of a closed kit it is closed, whatever was open then: `came_of` says the rest.
        """
        if self.came_of:
            return "closed"
        if self.dispute:
            return "dispute"
        if self.missing:
            return "missing"
        # What an open question left unused goes back and is missed nowhere.
        good = self.needed - self.in_boxes - self.on_van - min(self.back, self.line.undecided)
        if self.damaged and self.seen - self.damaged < good:
            return "damaged"
        for name in ("done", "seen", "loaded", "picked"):
            if name == "picked" and self.uncut:
                break
            if getattr(self, name) - self.damaged >= good and (good or name == "picked"):
                return name
        return "some" if self.picked else "needed"


@dataclass(frozen=True, slots=True)
class Progress:
    """A kit's totals by item code, and its lines in order."""

    kit: Kit
    totals: dict[str, Total]
    lines: tuple[LineProgress, ...]
    others: dict[str, Total] = field(default_factory=dict)  # in the kit's places, on no line
    aside: tuple[str, ...] = ()  # what is packed and set aside, where that was asked

    @property
    def to_put_back(self) -> list[Total]:
        """What a change or a cancelling left over, and what stands packed and is on no line."""
        found = [*self.totals.values(), *self.others.values()]
        over = [total for total in found if total.left_over]
        if over and (self.kit.job.cancelled_at is not None or self.kit.changes.exists()):
            return over
        return [total for total in self.others.values() if total.at_depot]

    @property
    def all_picked(self) -> bool:
        """Whether nothing but spares is left to be taken from the shelves."""
        return not any(total.must_pick for total in self.totals.values())

    @property
    def all_loaded(self) -> bool:
        """Whether all that was picked went on the van, and everything was picked."""
        packed = [*self.totals.values(), *self.others.values()]
        return self.all_picked and not any(total.at_depot for total in packed)


def share(quantity: int, rooms: list[int], *, keep_all: bool = False) -> list[int]:
    """Fill the rooms from the front; `keep_all` puts what is left over into the last.

    >>> share(5, [2, 2, 2]), share(9, [2, 2], keep_all=True)
    ([2, 2, 1], [2, 7])
    """
    parts = []
    for room in rooms:
        part = max(min(quantity, room), 0)
        parts.append(part)
        quantity -= part
    if keep_all and parts:
        parts[-1] += max(quantity, 0)
    return parts
