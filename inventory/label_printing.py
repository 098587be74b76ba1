"""Labels sent to a printer without a dialogue: the only writer of printers, print jobs and turns.

A job is kept first, then handed over once, outside the ledger's lock; what became of it is noted as
a turn. Nothing is handed over twice: not by two presses, not by a server that died between, and a
job is printed again only by a person, once, as a job of its own.
"""

from __future__ import annotations

from collections.abc import Sequence

from django.db.models import OuterRef, QuerySet, Subquery

from inventory import print_queue
from inventory.amending import amended
from inventory.digest import Row, numbered
from inventory.labels import layouts
from inventory.lock import writing
from inventory.models import Person, Printer, PrintJob, PrintTurn
from inventory.rows import Question

State = PrintTurn.State
OPEN = (State.SENDING, State.SENT, State.UNCLEAR)  # a person may say what came out
SHOWN = 60  # newest jobs on the page


class NoSuchTurn(Exception):
    """What a person wants of a job cannot be; the message says why."""


def enter_printer(*, name: str, address: str, layout: str, dpi: int) -> Printer:
    """Enter a printer."""
    with writing():
        return Printer.objects.create(name=name, address=address, layout=layout, dpi=dpi)


def change_printer(
    printer: Printer, by: Person, *, address: str, layout: str, dpi: int, in_use: bool
) -> None:
    """Say where a printer's queue is, what is in it, and whether it is used."""
    now = {"address": address, "layout": layout, "dpi": dpi, "in_use": in_use}
    with writing():
        there = Printer.objects.filter(pk=printer.pk)
        amended(by, f"printer:{printer.name}", there.values(*now).get(), now)
        there.update(**now)


def printers() -> QuerySet[Printer]:
    """Those in use."""
    return Printer.objects.filter(in_use=True)


_IN_USE = Question(printers)


def in_use() -> list[Printer]:
    """The same, for a page that asks each time."""
    return _IN_USE.ask()


def keep(
    person: Person,
    printer: Printer,
    codes: Sequence[str],
    skip: int = 0,
    again_of: PrintJob | None = None,
) -> PrintJob:
    """Keep what is to be printed, before any printer hears of it. Raises NoSuchTurn."""
    with writing():
        if again_of is not None and PrintJob.objects.filter(again_of=again_of).exists():
            raise NoSuchTurn("It was printed again already; print that one again.")
        return PrintJob.objects.create(
            printer=printer, person=person, codes=list(codes), skip=skip, again_of=again_of
        )


def send(job: PrintJob, file: bytes) -> PrintTurn:
    """Hand a kept job to its queue, once; what became of it. file: its labels as a PDF.

    Not under the ledger's lock: a queue may take seconds to answer.
    """
    with writing():
        claimed = job.turns.last()
        if claimed is not None:
            return claimed  # somebody is at it, or it is over
        job.turns.create(state=State.SENDING)
    printer, title = job.printer, f"Lastbolt labels {job.pk}"
    paper = layouts.named(printer.layout).paper
    try:
        number = print_queue.hand_over(printer.address, file, title, paper)
    except print_queue.NotPrinted as fault:
        return _turn(job, State.FAILED, str(fault))
    except print_queue.Unclear as fault:
        return _turn(job, State.UNCLEAR, str(fault))
    return _turn(job, State.SENT, number=number)


def ask(job: PrintJob) -> PrintTurn | None:
    """Ask the queue how a job went, where it has one; the new turn, None where nothing is new."""
    last = job.turns.last()
    if last is None or last.state != State.SENT or last.number is None:
        return None
    try:
        told = print_queue.how_it_went(job.printer.address, last.number)
    except print_queue.NotPrinted as fault:  # the queue has forgotten it
        return _turn(job, State.UNCLEAR, str(fault), number=last.number, after=last)
    except print_queue.Unclear:
        return None
    if told.ended:
        state = State.DONE if told.printed else State.FAILED
        return _turn(job, state, told.words, number=last.number, after=last)
    if told.words and told.words != last.words:
        return _turn(job, State.SENT, told.words, number=last.number, after=last)
    return None


def seen(job: PrintJob, person: Person, *, came_out: bool) -> PrintTurn:
    """Note what a person saw at the printer. Raises NoSuchTurn where it is known already."""
    with writing():
        last = job.turns.last()
        if last is not None and last.state not in OPEN:
            raise NoSuchTurn("What became of it is known already.")
        state = State.DONE if came_out else State.FAILED
        return job.turns.create(state=state, words="seen at the printer", person=person)


def latest() -> list[PrintJob]:
    """The newest jobs with their last turn as `state`, `words` and `turned`, newest first."""
    last = PrintTurn.objects.filter(job=OuterRef("pk")).order_by("-pk")
    jobs = PrintJob.objects.select_related("printer", "person", "again").annotate(
        state=Subquery(last.values("state")[:1]),
        words=Subquery(last.values("words")[:1]),
        turned=Subquery(last.values("at")[:1]),
    )
    return list(jobs[:SHOWN])


def _turn(
    job: PrintJob,
    state: str,
    words: str = "",
    number: int | None = None,
    after: PrintTurn | None = None,
) -> PrintTurn:
    """Note a turn; not where another came while the queue was asked."""
    with writing():
        last = job.turns.last()
        if after is not None and last is not None and last.pk != after.pk:
            return last
        return job.turns.create(state=state, words=words[:300], number=number)


def _printers() -> list[Row]:
    return list(Printer.objects.values_list("name", "address", "layout", "dpi", "in_use"))


def _jobs() -> list[Row]:
    columns = ("printer__name", "person__username", "codes", "skip", "again_of_id")
    jobs = PrintJob.objects.order_by("pk").values_list(*columns)
    return list(numbered((*row, again is not None) for *row, again in jobs))


def _turns() -> list[Row]:
    turns = PrintTurn.objects.order_by("pk")
    columns = ("job__printer__name", "state", "words", "number", "person__username")
    return list(numbered(turns.values_list(*columns)))


SECTIONS = {"printers": _printers, "prints": _jobs, "what became of prints": _turns}
"""What the digest reads of printing."""
