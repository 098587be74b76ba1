"""How sheets say a quantity and which code a line bears."""

from __future__ import annotations

from collections.abc import Mapping

from reportlab.platypus import Flowable

from inventory.labels.errors import LabelError
from inventory.models import Item, Tracking
from kitting import asked_for, by_hand, families, signing
from kitting.models import Kit, KitLine
from kitting.plan.axes import Axis
from kitting.plan.counting.volume import cartridges
from kitting.plan.items import FamilyItem
from kitting.printing.local import figure, measure, say
from kitting.printing.parts import Code, words
from kitting.questions import only_if
from kitting.speaking import told as in_words

G_PER_KG = 1000
UL_PER_ML = 1000
CANCELLED = "This job is cancelled: nothing of it goes out."


def known_items(kit: Kit) -> Mapping[str, FamilyItem]:
    """The items of the kit's parts list by code."""
    return families.family_of(kit.edition).items


def quantity(base: int, item: Item, known: FamilyItem | None) -> tuple[str, str]:
    """A quantity as people count it, and under it what that means at the shelf.

    Of what is squeezed out of a package the packages count: nobody takes 339 ml from a shelf.
    """
    if item.unit != "ul":
        return measure(base, item.unit), ""
    # Up to whole millilitres: nobody measures less out of a nozzle.
    said = measure(-(-base // UL_PER_ML) * UL_PER_ML, item.unit)
    if known is None or known.pack <= 1:
        return said, ""
    whole = cartridges(base, known.pack)
    each = measure(known.pack, item.unit)
    return said, say("{0} to open, of {1}", whole, each)


def code_of(item: Item, *, scans: bool) -> list[Flowable]:
    """The item's code to scan; words where a scan page would take it for another thing.

    A thing with a serial bears none: it is itself scanned, for a code on paper would say that
    somebody saw what nobody saw.
    """
    if item.tracking == Tracking.SERIAL:
        return [words(say("scan the thing's own label"), "small")]
    if scans:
        try:
            return [Code("item", item.code)]
        except LabelError:
            pass
    return [words(say("no code: type it"), "small")]


def kilograms(grams: int) -> str:
    """A mass of one piece: "38 kg"."""
    return f"{figure(grams / G_PER_KG)} kg"


def to_come(kit: Kit) -> list[str]:
    """What the job left without or asked for and has not got, and how it follows."""
    waits = [one for one in asked_for.of_kit(kit) if not one.over and kit.closed_by_id is None]
    return [
        say("Still to come: {0}: {1}", in_words(one.what), in_words(one.words)) for one in waits
    ]


def still_open(kit: Kit) -> list[str]:
    """Questions without an answer; those about the place stand at their step and are counted."""
    unsigned = [check for check in signing.checks(kit) if check.by_code and check.signed is None]
    at_step = {check.asked for check in unsigned}
    told = [
        say("Still open: {0}", asked) for asked in signing.left_open(kit) if asked not in at_step
    ]
    if unsigned:
        told.append(say("{0} questions about the place are not signed yet.", len(unsigned)))
    return told


def notes(line: KitLine, axes: Mapping[str, Axis]) -> list[str]:
    """What is told of a line beside its quantity: a person's change, pieces, what may be left."""
    told = [say("By hand: {0}", r["arithmetic"]) for r in line.reasons if r["need"] == by_hand.NEED]
    pieces = [measure(piece, "mm") for piece in line.pieces]
    if pieces:
        told.append(say("in one piece") if len(pieces) == 1 else say("cut {0}", " + ".join(pieces)))
    return told + [say("take both: {0}", in_words(words_)) for words_ in only_if(line, axes)]


def dropped(kit: Kit) -> list[str]:
    """Lines that a person took off the list, with the reason."""
    gone = [beside for beside in by_hand.beside(kit) if not beside.now]
    return [say("{0} is left out: {1}", one.hand.item.name, one.hand.reason) for one in gone]


def taken_both(kit: Kit) -> list[str]:
    """Questions that travel with the parts of each answer."""
    axes = families.family_of(kit.edition).axes
    asked = [axes[one["axis"]].plain for one in kit.snapshot.get("taken_both", ())]
    return [say("Both ways are taken: {0} The unused set comes back.", words_) for words_ in asked]
