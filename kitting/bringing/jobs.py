"""Jobs brought in: site, day, van, crew, and the stack as its family asks for it.

Each row is worked out as a kit when it is judged, so what the family refuses is told by row.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from datetime import date, datetime, time
from typing import Any

from django.utils import timezone

from inventory.bringing.kinds import Asked, Data, Found, Kind, once_each
from inventory.codes.serials import look_up_key
from inventory.incoming.columns import Cells, Column, names_of, plain
from inventory.incoming.errors import Wrong
from inventory.incoming.tables import Cell
from inventory.incoming.values import Numbers, choice, day, shown, text
from inventory.models import Event, Person, Place, PlaceKind, Role
from inventory.moving import CannotMove, Writing
from kitting import families, packing, planning, starting, withdrawing
from kitting.bringing import sites
from kitting.bringing.sites import Sites
from kitting.forms import EARLIEST, LATEST
from kitting.models import Job, JobKind, Site
from kitting.packing import Refused
from kitting.plan.configuration import WHERE
from kitting.plan.family import Family
from kitting.questions import base_units, modules_of, refusal

COLUMNS = (
    *sites.COLUMNS,
    Column("day", "of the visit, as 2027-03-31 or 31.03.2027", ("date", "Datum"), True),
    Column("leaves at", "when the van leaves, as 07:10", ("hour", "Abfahrt")),
    Column("van", "name or label code of a van", ("Fahrzeug",)),
    Column("crew", "sign-in names, a comma between", ("technicians", "Monteure")),
    Column("stack system", "name or title of a parts list that is loaded", ("family",), True),
    Column("kind", "new, expansion, swap or removal; empty: new", ("job", "Art")),
    Column("stacks", "modules in each stack, as 4, 4", ("modules",)),
    Column("before", "modules that stand there now, as 2, 2", ("stands there",)),
    Column("swapped", "places of a swap, as: 1 place 2; 1 place 3", ("swap",)),
)
MOST, AT_ONCE = 500, 5  # rows of a file, of one transaction: each is a kit of some 70 lines
FROM_RECORD = {"stacks", "before"}  # of jobs that start from what stands: the record says them
_OWN = {  # keys of a configuration -> headings
    "family": "stack system",
    "job": "kind",
    "stacks": "stacks",
    "before": "before",
    "swap": "swapped",
}
_KINDS = {plain(kind): str(kind) for kind in JobKind.values}


def questions() -> list[Column]:
    """Return a column for each question of the families that are loaded."""
    asked: dict[str, list[str]] = {}
    for family in planning.known_families().values():
        for axis in family.axes.values():
            asked.setdefault(axis.name, []).append(axis.plain)
    return [
        Column(column_of(name), words[0], tuple(dict.fromkeys(words)))
        for name, words in asked.items()
    ]


def column_of(axis: str) -> str:
    """Return the heading of a family's question; one that is named like ours stands apart."""
    name = axis.replace("_", " ")
    return f"stack {name}" if plain(name) in names_of(COLUMNS) else name


class _Known:
    """What a file of jobs may name, asked once."""

    def __init__(self) -> None:
        self.families = planning.known_families()
        self.by_word = {plain(f.title): f.name for f in self.families.values()}
        self.by_word |= {plain(f.name): f.name for f in self.families.values()}
        self.sites = Sites()
        vans = Place.objects.filter(kind=PlaceKind.VAN)
        self.vans = {word: v.code for v in vans for word in (v.name.casefold(), v.code.casefold())}
        crew = Person.objects.filter(is_active=True, roles__icontains=Role.TECHNICIAN)
        self.crew = {p.username.casefold(): p.username for p in crew if p.has(Role.TECHNICIAN)}
        self.jobs: dict[tuple[str, date, str], Job] = {}
        rows = Job.objects.filter(cancelled_at=None).select_related("site__place", "van")
        for job in rows.prefetch_related("crew").order_by("pk"):
            self.jobs[job.site.place.code, job.date, job.kind] = job
        self.worked_out: dict[str, str] = {}  # what was asked -> why not


def judge(rows: Sequence[Cells], numbers: Numbers, by: Person | None) -> list[Found]:
    """Judge every row; one about a job that is planned already has to say the same."""
    known, found, keys = _Known(), [], []
    for cells in rows:
        asked = Asked(cells)
        data = _read(asked, known)
        on = date.fromisoformat(data["day"]) if data["day"] else date.min
        kind = str(data["configuration"]["job"])
        there = known.jobs.get((data["site"], on, kind)) if data["site"] else None
        if there is not None:
            _compare(asked, there, data)
        elif not asked.faults:
            _work_out(asked, known, data)
        about = f"{kind} at {sites.shown_as(data)} on {data['day']}"
        found.append(asked.found(about, data, known=there is not None))
        keys.append(None if asked.faults else (sites.key_of(data), data["day"], kind))
    return once_each(found, keys, "job of a site and day")


def _read(asked: Asked, known: _Known) -> Data:
    where = known.sites.read(asked)
    name = asked.read("stack system", lambda cell: _family(cell, known), "")
    kind = asked.read("kind", lambda cell: choice(cell, _KINDS, first="new"), "new")
    on = asked.read("day", _day, None)
    configuration: dict[str, Any] = {"family": name, "job": kind}
    configuration |= _stacks(asked, kind)
    if name:
        configuration |= _answers(asked, known.families[name])
    return {
        **where,
        "day": on.isoformat() if on else "",
        "leaves_at": asked.read("leaves at", _hour, ""),
        "van": asked.read("van", lambda cell: _one(cell, known.vans, "a van"), ""),
        "crew": asked.read("crew", lambda cell: _crew(cell, known), list[str]()),
        "configuration": configuration,
    }


def _day(cell: Cell) -> date:
    found = day(cell)
    if found is None:
        raise Wrong("expected a day as 2026-11-25 or 25.11.2026, got nothing")
    if not EARLIEST <= found <= LATEST:  # a slip of a key, as on the planning page
        raise Wrong(f"expected a day from {EARLIEST} to {LATEST}, got {shown(cell)}")
    return found


def _family(cell: Cell, known: _Known) -> str:
    found = known.by_word.get(plain(text(cell, 80, needed=True)))
    if found is None:
        wanted = ", ".join(sorted(known.families)) or "one that is loaded: none is yet"
        raise Wrong(f"expected one of {wanted}, got {shown(cell)}")
    return found


def _hour(cell: Cell) -> str:
    given = text(cell, 20)
    try:
        return f"{time.fromisoformat(given.rjust(5, '0')):%H:%M}" if given else ""
    except ValueError:
        raise Wrong(f"expected an hour as 07:10, got {shown(cell)}") from None


def _one(cell: Cell, known: Mapping[str, str], what: str) -> str:
    given = text(cell, 120)
    found = known.get(given.casefold()) or known.get(look_up_key(given).casefold())
    if given and found is None:
        raise Wrong(f"expected the name of {what} of ours, got {shown(cell)}")
    return found or ""


def _crew(cell: Cell, known: _Known) -> list[str]:
    names = [name for name in re.split(r"[,;\s]+", text(cell, 300)) if name]
    for name in names:
        if name.casefold() not in known.crew:
            raise Wrong(f"expected sign-in names of technicians, got {name[:40]!r}")
    return sorted({known.crew[name.casefold()] for name in names})


def _stacks(asked: Asked, kind: str) -> dict[str, Any]:
    found: dict[str, Any] = {}
    stacks = asked.read("stacks", _counts, list[dict[str, int]]())
    if stacks:
        found["stacks"] = stacks
    elif kind in (JobKind.NEW, JobKind.EXPANSION) and asked.cells["stacks"] is None:
        asked.wrong("stacks", "expected modules in each stack, as 4, 4, got nothing")
    before = asked.read("before", _counts, list[dict[str, int]]())
    if before and kind != JobKind.EXPANSION:
        asked.wrong("before", f"expected it of an expansion only, got it of {kind}")
    elif before:
        found["before"] = {"stacks": before}
    swap = asked.read("swapped", _places, list[dict[str, int]]())
    return found | ({"swap": swap} if swap else {})


def _counts(cell: Cell) -> list[dict[str, int]]:
    given = text(cell, 100)
    counts = modules_of(given)
    if given and not counts:
        raise Wrong(f"expected modules in each stack, as 4, 4, got {shown(cell)}")
    return [{"modules": count} for count in counts]


def _places(cell: Cell) -> list[dict[str, int]]:
    found = []
    for part in (part for part in re.split("[,;]", text(cell, 200)) if part.strip()):
        place = re.fullmatch(r"\D*([0-9]{1,3})\D+([0-9]{1,3})\D*", part)
        if place is None:
            raise Wrong(f"expected places as: 1 place 2; 1 place 3, got {shown(cell)}")
        found.append({"stack": int(place[1]), "level": int(place[2])})
    return found


def _answers(asked: Asked, family: Family) -> dict[str, Any]:
    found: dict[str, Any] = {}
    for axis in family.axes.values():
        column = column_of(axis.name)
        cell = asked.cells[column]
        if cell is None:
            continue
        given = str(cell)
        answer = base_units(axis, given)
        if isinstance(cell, bool) or answer is None or not axis.accepts(answer):
            asked.wrong(column, refusal(axis, given))
        else:
            found[axis.name] = answer
    return found


def _compare(asked: Asked, there: Job, data: Data) -> None:
    """A job that is planned is changed on its page, where it is seen what hangs on it."""
    given = data["configuration"]
    left_out = FROM_RECORD if there.kind != JobKind.NEW else set()
    for name in sorted({*given, *there.configuration} - left_out - {"take_both"}):
        if given.get(name) != there.configuration.get(name):
            column = _OWN.get(name) or column_of(name)
            had = there.configuration.get(name)
            told = f"expected {had!r} as {there.code} has it, got {given.get(name)!r}"
            asked.wrong(column, f"{told}: change it on the page of the job")
    leaves = f"{timezone.localtime(there.leaves_at):%H:%M}" if there.leaves_at else ""
    crew = sorted(person.username for person in there.crew.all())
    for column, had, got in (
        ("leaves at", leaves, data["leaves_at"]),
        ("van", there.van.code if there.van else "", data["van"]),
        ("crew", crew, data["crew"]),
    ):
        if got and got != had:
            told = f"expected {had or 'none'} as {there.code} has it, got {got}"
            asked.wrong(column, f"{told}: change it on the page of the job")


def _work_out(asked: Asked, known: _Known, data: Data) -> None:
    site = known.sites.by_code.get(data["site"])
    given = data["configuration"]
    edition = families.current(given["family"])
    assert edition is not None, "the family is a known one"
    whole = starting.filled(site, given) if site is not None else given
    for reason in _reasons(known, edition, whole, site):
        name = reason.rule.partition("[")[0].partition(".")[0]
        column = _OWN.get(name) or column_of(name)
        words = reason.message.removeprefix(f"{WHERE}: ")
        asked.wrong(column if column in asked.cells.places else "", words)


def _reasons(
    known: _Known, edition: Any, whole: Mapping[str, Any], site: Site | None
) -> tuple[packing.Reason, ...]:
    try:
        packing.worked_out(edition, whole, site)
    except Refused as refused:
        return refused.reasons
    return ()


def write(writes: Writing, rows: Sequence[Data]) -> None:
    """Plan each job with its kit. Raises CannotMove where one cannot be as it was judged."""
    places = sites.opened(rows, writes.event)
    vans = {van.code: van for van in Place.objects.filter(kind=PlaceKind.VAN)}
    people = {p.username: p for p in Person.objects.filter(is_active=True)}
    for row, site in zip(rows, places, strict=True):
        on = date.fromisoformat(row["day"])
        kind = row["configuration"]["job"]
        if Job.objects.filter(site=site, date=on, kind=kind, cancelled_at=None).exists():
            raise CannotMove(f"A job is planned at {site.place.name} on {on} by now")
        if (row["van"] and row["van"] not in vans) or set(row["crew"]) - set(people):
            raise CannotMove("A van or somebody of a crew is gone by now")
        try:
            job = packing.plan_job(
                by=writes.person,
                site=site,
                date=on,
                configuration=row["configuration"],
                van=vans.get(row["van"]),
                crew=[people[name] for name in row["crew"]],
                leaves_at=_moment(on, row["leaves_at"]),
                brought_by=writes.event,
            )
            packing.work_out_kit(job, writes.person)
        except Refused as refused:
            raise CannotMove(str(refused)) from refused


def _moment(on: date, hour: str) -> datetime | None:
    return timezone.make_aware(datetime.combine(on, time.fromisoformat(hour))) if hour else None


def undo(writes: Writing, rows: Sequence[Data], done: Event) -> None:
    """The jobs of this part are gone again, with sites that were entered for them."""
    for job in Job.objects.filter(brought_by=done).select_related("site__place"):
        withdrawing.withdraw(job)
    withdrawing.close_sites(done)


JOBS = Kind(
    "jobs",
    "Jobs",
    "one visit",
    COLUMNS,
    judge,
    write,
    at_once=AT_ONCE,
    most=MOST,
    undo=undo,
    once=True,
    personal=True,
    more=questions,
)
