"""A code that nobody knew is taught on the spot, by who holds the thing; a manager confirms it.

It means the item from that moment on: work goes on. Until it is confirmed it stands among the
problems, and what was wrong is taken back for good. What a manager taught nobody confirms.
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime
from typing import Any

from django.db.models import QuerySet

from inventory import catalogue, confirming
from inventory.codes.errors import CodeError
from inventory.codes.serials import key as serial_key
from inventory.codes.serials import look_up_key
from inventory.intake import Act, Verdict
from inventory.models import Event, Finding, Item, ItemCode, Place, Role, Tracking
from inventory.moving import CannotMove, Writing
from inventory.scanning import article_in, resolve

LONGEST = 120  # characters of a printed code
STEP = "teach"


def unknown_codes(subject: str, since: datetime | None = None) -> list[str]:
    """Return the texts that were scanned for this subject, meant nothing, and mean nothing yet.

    since: only those that arrived from then on.
    """
    asked = confirming.not_known().filter(subject=subject)
    if since is not None:
        asked = asked.filter(event__received_at__gte=since)
    texts = asked.order_by("-pk").values_list("event__scan__text", flat=True)[:5]
    return list(dict.fromkeys(text for text in texts if text and len(text) <= LONGEST))


def told(subject: str, since: datetime | None = None) -> dict[str, Any]:
    """Return what a page asks about them, and what each could be: any item."""
    texts = unknown_codes(subject, since)
    return {"unknown": texts, "could_be": Item.objects.order_by("name", "code") if texts else ()}


def to_teach(findings: Iterable[Finding]) -> dict[str, Any]:
    """Return what a list of problems asks of those that are unknown codes: id -> (1 up, text)."""
    asked = [one.event_id for one in findings if one.kind == Finding.Kind.CODE]
    found = confirming.not_known().filter(event__in=asked).order_by("-pk")
    rows = found.values_list("pk", "event__scan__text") if asked else ()
    texts = [(pk, text) for pk, text in rows if len(text) <= LONGEST]
    could_be = Item.objects.order_by("name", "code") if texts else ()
    return {
        "codes": {pk: (str(nth), text) for nth, (pk, text) in enumerate(texts, 1)},
        "could_be": could_be,
    }


def ask(writes: Writing, place: Place) -> None:
    """Open a problem about a code that means nothing; scanned again there, it is one still.

    place: where it lies.
    """
    text, subject = writes.line.text, writes.line.subject
    open_ones = confirming.not_known().filter(subject=subject, place=place)
    if not open_ones.filter(event__scan__text=text, event__reversed_by=None).exists():
        writes.finding(Finding.Kind.CODE, not_known(text), place=place)


def not_known(text: str) -> str:
    """Return the words of the problem that a code means nothing."""
    return f"Code {text[:60]} is not known."


def taught() -> QuerySet[Finding]:
    """Return the codes that wait for a manager's word, oldest first."""
    found = Finding.objects.filter(event__step=STEP, answer=None, unit=None, item__isnull=False)
    return found.select_related("item", "event__scan", "event__person").order_by("pk")


def teach(writes: Writing) -> Verdict:
    """Let the scanned text mean the item that "with" names; one scan of it stands for `quantity`.

    Of an item that is followed by serial the text is the serial of one thing: it is entered as one
    that nobody received, with a photo of its label.
    """
    text, item = writes.line.text.strip(), resolve(writes.line.companion).item
    if item is None:
        raise CannotMove("Say what it is: choose the item")
    if writes.thing.kind not in ("unknown", "none"):
        raise CannotMove(f"This is known: {writes.thing.name}")
    if not text or len(text) > LONGEST:
        raise CannotMove(f"Expected a code of 1 to {LONGEST} characters")
    article, pack = article_in(text, writes.line.via), writes.line.quantity or 1
    if item.tracking == Tracking.SERIAL and not article:
        return _one_thing(writes, item, text)
    code = catalogue.add_code(item, article or text, pack)
    _answer(writes, text)
    told = f"{code.text} is now {item.name}" + (f", {pack} each" if pack > 1 else "")
    if not writes.person.has(Role.MANAGER):
        words = f"{told}: taught at the bench, nobody has confirmed it."
        writes.finding(Finding.Kind.UNKNOWN, words, item=item, quantity=pack)
    return Verdict("applied", f"{told}. Scan it again.")


def _one_thing(writes: Writing, item: Item, text: str) -> Verdict:
    if not writes.line.photo:
        raise CannotMove(f"{item.name} is followed by serial. Photograph its label too")
    try:
        key = serial_key(text)
    except CodeError:
        raise CannotMove("That cannot be a serial. Photograph the label for the office") from None
    unit = writes.meet(item, text, key, evidence="box", provisional=True)
    _answer(writes, text)
    writes.finding(Finding.Kind.UNKNOWN, f"{unit} was never received.", unit=unit)
    return Verdict("applied", f"{unit} is entered; goods-in confirms it later. Scan it again.")


def _answer(writes: Writing, text: str) -> None:
    """What was asked about this text before, or another label with its article, is answered."""
    key, article = look_up_key(text), article_in(text, writes.line.via)
    for finding in confirming.not_known().select_related("event__scan").order_by("pk"):
        asked = finding.event.scan
        other = bool(article) and article_in(asked.text, asked.via) == article
        if look_up_key(asked.text) == key or other:
            writes.answer(finding, "It was taught what this code is.")


def confirm(writes: Writing) -> Verdict:
    """A manager confirms a taught code; kind "wrong": it means nothing any more."""
    text = writes.line.text.strip()
    asked = taught().filter(event__scan__text=text).first()
    if asked is None or asked.item is None:
        return Verdict("noted", f"{text[:40]}: nothing waits to be confirmed.")
    if writes.line.kind != "wrong":
        writes.answer(asked, "Confirmed.")
        return Verdict("applied", f"{text[:40]} is {asked.item.name}.")
    _forget(writes, text)
    writes.answer(asked, "It was wrong: the code means nothing any more.")
    return Verdict("applied", f"{text[:40]} means nothing any more.")


def _forget(writes: Writing, text: str) -> None:
    key = look_up_key(article_in(text) or text)
    code = ItemCode.objects.filter(key=key).select_related("item").first()
    if code is not None:
        catalogue.drop_label(code, writes.person)


def _undo(writes: Writing, done: Event) -> None:
    scan, one_thing = getattr(done, "scan", None), done.findings.exclude(unit=None)
    if scan is not None and not one_thing.exists():
        _forget(writes, scan.text)


TEACH = Act(STEP, frozenset({Role.WAREHOUSE, Role.MANAGER}), teach, undo=_undo)
CONFIRM = Act("confirm_code", frozenset({Role.MANAGER}), confirm)
