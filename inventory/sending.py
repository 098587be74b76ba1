"""What came back leaves again, sent back or scrapped; nothing goes before its time."""

from __future__ import annotations

from inventory import carriage, claims
from inventory.claims import approval, kept_until
from inventory.intake import Act, Verdict
from inventory.models import Place, PlaceKind, Return, ReturnKind, ReturnStep, Role, Unit
from inventory.moving import CannotMove, Writing, outside
from inventory.returns import DESK, free, lies, note, of_event, steps_of, under

OTHERS = ("supplier", "carrier")


def maker_says(writes: Writing) -> Verdict:
    """What the maker or supplier says becomes of what came back ("reason")."""
    found = of_event(writes)
    if not writes.line.reason:
        raise CannotMove("Write what they say: who, when, what to do")
    note(writes, found, ReturnStep.Kind.TOLD, f"They say: {writes.line.reason}")
    return Verdict("applied", f"{found.code}: noted.")


def send_back(writes: Writing) -> Verdict:
    """Hand what came back to those who fetch it; kind: supplier or carrier; "reason": tracking."""
    found, kind = of_event(writes), writes.line.kind
    if kind not in OTHERS:
        raise CannotMove("Say who takes it: the supplier, or a carrier")
    if found.unit is not None:
        carriage.may_go(found.unit)
        _approved(found, found.unit, writes)
    words = f"Sent back, handed to the {kind}"
    return _leave(writes, found, outside(kind), ReturnStep.Kind.SENT, words)


def scrap(writes: Writing) -> Verdict:
    """What came back is not used again and leaves us as waste; "reason" says how and where to."""
    found = of_event(writes)
    if not writes.line.reason:
        raise CannotMove("Say why, and who takes it")
    if found.unit is not None:
        carriage.may_go(found.unit)
        _kept(found.unit, writes)
    told = steps_of(found).filter(kind=ReturnStep.Kind.TOLD)
    if found.kind == ReturnKind.RECALLED and not told.exists():
        raise CannotMove("Note first what the maker says becomes of it")
    return _leave(writes, found, outside(PlaceKind.SCRAP), ReturnStep.Kind.SCRAPPED, "Scrapped")


def _approved(found: Return, unit: Unit, writes: Writing) -> None:
    """What is claimed goes back only with their number on the parcel."""
    claim = claims.open_about(unit)
    if claim is not None and approval(claim) is None:
        raise CannotMove(f"Claim {claim.code}: they have not given their number for it yet")
    if claim is None:
        _kept(unit, writes)


def _kept(unit: Unit, writes: Writing) -> None:
    """What is claimed is kept as long as they may ask to look at it."""
    today = writes.event.received_at.date()
    for claim in claims.about_unit(unit):
        ended = claims.steps_of(claim).filter(closes=True).first()
        until = kept_until(claim)
        # What we gave up ourselves nobody asks for any more.
        if today < until and not (ended is not None and ended.value == "dropped"):
            raise CannotMove(f"{unit} is kept until {until:%-d %b %Y} for claim {claim.code}")


def _leave(writes: Writing, found: Return, to: Place, kind: str, words: str) -> Verdict:
    thing = found.unit or found.lot
    assert thing is not None, "a return is of one thing"
    words += under(thing) + (f": {writes.line.reason}" if writes.line.reason else "")
    if found.unit is not None:
        stands = found.unit.place
        if stands is not None and stands.within(PlaceKind.STACK) is not None:
            raise CannotMove(f"{found.unit} stands fitted by the book. Take it down first")
        writes.unit(found.unit, to)
        free(writes, found)
    else:
        _lot(writes, found, to)
    note(writes, found, kind, words, closes=True)
    return Verdict("applied", f"{thing}: {words}.")


def _lot(writes: Writing, found: Return, to: Place) -> None:
    left, lot = found.quantity, found.lot
    assert lot is not None, "a return is of one thing"
    for place in lies(found):
        part = min(sum(h.quantity for h in place.holdings.filter(lot=lot)), left)
        if part:
            writes.lot(lot, place, to, part)
            left -= part
    if left:
        raise CannotMove("The book has less where things that came back lie. Count it")


MAKER_SAYS = Act("maker_says", DESK, maker_says)
SEND_BACK = Act("send_back", DESK, send_back)
SCRAP = Act("scrap_return", frozenset({Role.MANAGER}), scrap)
ACTS = (MAKER_SAYS, SEND_BACK, SCRAP)
