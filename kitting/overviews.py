"""What the pages of the upper house list: the week, kits to pick, how far each has come."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, timedelta
from typing import Any

from django.db.models import Prefetch, Q, QuerySet
from django.urls import reverse

from inventory.models import Item, Person, Place, PlaceKind
from inventory.rows import Among, Question
from inventory.subjects import Named
from inventory.words import amount, measure
from kitting import (
    asked_for,
    breaking,
    by_hand,
    coming_off,
    netting,
    other_ways,
    recalled,
    signing,
    sourcing,
    still_needed,
    travelling,
)
from kitting.access import jobs_of
from kitting.asked_for import Asked
from kitting.breaking import Break, StandIn
from kitting.folding import fold_each
from kitting.models import Job, Kit, KitLine, Site
from kitting.netting import Brought
from kitting.other_ways import Choice
from kitting.overdue import is_overdue
from kitting.plan.tasks import said
from kitting.progress import fold
from kitting.queries import Left, left_of
from kitting.snapshot import step_titles
from kitting.sourcing import Short, Source
from kitting.tallies import LineProgress, Progress

DAYS = 7
BREAKS = "Will break"
UNDECIDED = "it comes off, and how it is packed and carried is not decided yet"
IN_STOCK = ", another is in stock: pack it"
_SITES = Question(
    lambda: Site.objects.filter(place__code__in=Among(Place, "code")).select_related("place")
)


@dataclass(frozen=True, slots=True)
class Readiness:
    """How a job stands, in a word, with every reason why it may break."""

    word: str
    tone: str  # good, wait, warn or stop: how the page shows it, beside word and shape
    shape: str  # of templates/parts/shapes.html
    reasons: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Row:
    """One job of a list."""

    job: Job
    kit: Kit | None
    readiness: Readiness
    done: int = 0  # lines that have come as far as they should by now
    lines: int = 0
    following: tuple[Asked, ...] = ()  # what has still to come to it
    breaks: tuple[Break, ...] = ()  # what it lacks, with when that arrives
    stand_ins: tuple[StandIn, ...] = ()  # what is here for what is damaged or missing
    overdue: bool = False  # its day has passed and it is not closed; False where nobody asked


@dataclass(frozen=True, slots=True)
class Day:
    """One day of the week."""

    day: date
    rows: tuple[Row, ...]

    @property
    def vans(self) -> list[Place]:
        """The vans that go out, each once."""
        found = {row.job.van.pk: row.job.van for row in self.rows if row.job.van is not None}
        return list(found.values())


@dataclass(frozen=True, slots=True)
class Step:
    """One step of a kit with everything that belongs to it."""

    key: str
    title: str
    tasks: tuple[str, ...]
    cautions: tuple[dict[str, str], ...]
    rows: tuple[LineProgress, ...]

    @property
    def here(self) -> int:
        """Lines that are with the crew or done."""
        return sum(row.state in ("loaded", "seen", "done") for row in self.rows)


@dataclass(frozen=True, slots=True)
class Stop:
    """One stop of the picking walk: so much of an item at a place, for a line."""

    place: Place | None  # None: nowhere in stock
    source: Source
    line: KitLine
    bag: str  # what the step is called

    @property
    def shelf(self) -> Place | None:
        """The bin, dock or bay to go to."""
        return shelf_of(self.place) if self.place else None


def shelf_of(place: Place) -> Place | None:
    """The bin, dock or bay to go to; what stands in a box is found by where the box is."""
    inside = (PlaceKind.CARTON, PlaceKind.BAG)
    return next((p for p in place.way_up() if p.kind not in inside), None)


@dataclass(frozen=True, slots=True)
class Walk:
    """The picking walk: bins in walking order, then what needs no walk, then what lacks."""

    stops: tuple[Stop, ...] = ()
    elsewhere: tuple[Stop, ...] = ()  # comes in another thing's box or is on the van
    short: tuple[Stop, ...] = ()
    doubted: tuple[Brought, ...] = ()  # comes in boxes that are not relied on
    others: tuple[Choice, ...] = ()  # what reaches as well where something is short
    progress: Progress = field(kw_only=True)


APART = Readiness(
    "To move over", "warn", "problem", ("Something of it lies in a van that it does not go with",)
)


def week(person: Person, first: date, today: date) -> list[Day]:
    """Return seven days from `first` with the jobs this person may see, and when each breaks."""
    jobs = jobs_of(person).filter(date__range=(first, first + timedelta(days=DAYS - 1)))
    rows = rows_of(jobs.order_by("date", "leaves_at", "code"), today)
    days = [first + timedelta(days=n) for n in range(DAYS)]
    return [Day(day, tuple(row for row in rows if row.job.date == day)) for day in days]


def rows_of(jobs: QuerySet[Job], today: date | None = None) -> list[Row]:
    """Return jobs with how each stands: most is asked once for all open kits of the firm.

    today: where it is also told when what a job lacks arrives.
    """
    kits = recalled.holding(still_needed.open_kits()).prefetch_related("job__van__carried")
    progresses = recalled.with_aside(fold_each(list(kits)))
    lacking = sourcing.shortages_by_kit(list(progresses.values()))
    breaks: dict[int, list[Break]] = {}
    for one in breaking.of(lacking, [p.kit for p in progresses.values()], today) if today else ():
        breaks.setdefault(one.job.pk, []).append(one)
    rows = []
    shown = jobs.annotate(
        awaits=asked_for.awaits("kit__job"), apart=travelling.in_another_van()
    ).prefetch_related("crew", Prefetch("kits", Kit.objects.select_related("closed_by")))
    coming = asked_for.following(job for job in shown if job.awaits)
    for job in shown:
        latest = max(job.kits.all(), key=lambda kit: kit.revision, default=None)
        progress = progresses.get(latest.pk) if latest else None
        short = lacking.get(latest.pk, []) if latest else []
        row = _row(job, latest, progress, short, breaks.get(job.pk, []))
        if job.apart and row.readiness.tone in ("good", "wait") and not job.cancelled_at:
            row = replace(row, readiness=APART)
        late = today is not None and is_overdue(job, latest, today)
        rows.append(replace(row, following=tuple(coming.get(job.pk, ())), overdue=late))
    return rows


def _row(
    job: Job,
    kit: Kit | None,
    progress: Progress | None,
    short: list[Short],
    breaks: Sequence[Break] = (),
) -> Row:
    lines = progress.lines if progress else ()
    going = [row for row in lines if row.state in ("picked", "loaded", "seen", "done")]
    stands = readiness(job, kit, progress, short, breaks)
    covered = tuple(breaking.stand_ins(progress, short)) if progress else ()
    return Row(job, kit, stands, len(going), len(lines), breaks=tuple(breaks), stand_ins=covered)


def readiness(
    job: Job,
    kit: Kit | None,
    progress: Progress | None,
    lacking: Sequence[Short],
    breaks: Sequence[Break] = (),
) -> Readiness:
    """Judge how a job stands. progress: of an open kit; lacking: what the shelves do not cover.

    breaks: when it arrives, where that was asked.
    """
    if job.cancelled_at is not None:
        return Readiness("Cancelled", "wait", "noted")
    if kit is None:
        return Readiness("No kit yet", "stop", "stopped", ("Its kit was not worked out.",))
    if kit.closed_by_id is not None:
        return Readiness("Closed", "good", "applied")
    if progress is None or kit.released_at is None:
        asked = signing.left_open(kit)
        return Readiness("Not released", "warn", "problem", asked)
    # What nobody ever counted may well lie there: it is looked for, it breaks nothing yet.
    unsure = tuple(short_words(one) for one in lacking if not one.known)
    broken = _broken(progress, lacking, breaks)
    if broken is not None:
        return replace(broken, reasons=broken.reasons + unsure)
    asks = _asks(job, kit, progress)
    if asks is not None:
        return asks
    if progress.all_loaded:
        return Readiness("On the van", "good", "applied")
    if progress.all_picked:
        return Readiness("Packed", "good", "applied")
    return Readiness("To pick", "wait", "waiting", unsure)


def _asks(job: Job, kit: Kit, progress: Progress) -> Readiness | None:
    """A job that asks somebody for something before its van leaves; None for none."""
    over = tuple(
        f"Back to the shelf: {amount(total.left_over, total.item)}"
        for total in progress.to_put_back
        if total.at_depot
    )
    if over:
        return Readiness("To put back", "warn", "problem", over)
    unsigned = tuple(f"Sign first: {words}" for words in signing.unsigned(kit))
    if unsigned:
        return Readiness("To sign", "warn", "problem", unsigned)
    comes_off = tuple(f"{unit}: {UNDECIDED}" for unit in coming_off.undecided(job))
    if comes_off:
        return Readiness("To decide", "warn", "problem", comes_off)
    return None


def _broken(
    progress: Progress, lacking: Iterable[Short], breaks: Sequence[Break]
) -> Readiness | None:
    """A job that has a problem, or lacks what was counted; None for neither."""
    when = {one.item.pk: f": {one.words}" for one in breaks}
    short = [short for short in lacking if short.known]
    known = tuple(short_words(one) + when.get(one.item.pk, "") for one in short)
    here = {one.item.pk for one in breaking.stand_ins(progress, lacking)}
    trouble = progress.aside + tuple(
        f"{row.line.item.name}: {row.state}{IN_STOCK if row.line.item_id in here else ''}"
        for row in in_trouble(progress)
    )
    if breaks and not trouble and all(one.in_time for one in breaks):
        return Readiness("Goods come first", "warn", "problem", known)
    return Readiness(BREAKS, "stop", "stopped", trouble + known) if trouble or known else None


def short_words(short: Short) -> str:
    """Say what the shelves lack."""
    if short.longest and short.longest < short.needed:
        needed = measure(short.needed, short.item.unit)
        longest = measure(short.longest, short.item.unit)
        return (
            f"{short.item.name}: {needed} needed, each piece whole; the longest here is {longest}"
        )
    there = f"{measure(short.available, short.item.unit)} here" if short.known else "never counted"
    if short.unmeasured:
        there = "each piece whole; what is here bears no label, nobody knows how long a piece is"
    return f"{short.item.name}: {measure(short.needed, short.item.unit)} needed, {there}"


def kits_to_pick(person: Person) -> list[Row]:
    """Return the jobs whose kit is released and not closed, those that leave first first."""
    jobs = jobs_of(person).filter(cancelled_at=None)
    jobs = jobs.filter(kits__released_at__isnull=False, kits__closed_by=None).distinct()
    rows = rows_of(jobs.order_by("date", "leaves_at", "code"))
    return [row for row in rows if row.kit is not None and row.kit.is_open]


def steps_of(kit: Kit, progress: Progress) -> list[Step]:
    """Return the kit's steps in the order of the job, each with its lines and cautions."""
    found = []
    for step in kit.snapshot["steps"]:
        rows = tuple(row for row in progress.lines if row.line.step == step["key"])
        cautions = tuple(c for c in kit.snapshot["cautions"] if c["step"] == step["key"])
        told = [task for task in kit.snapshot.get("tasks", ()) if task["step"] == step["key"]]
        if rows or cautions or told:
            more = (said(task["words"], task["place"]) for task in told)
            tasks = (*step.get("tasks", ()), *more)
            found.append(Step(step["key"], step["title"], tasks, cautions, rows))
    return found


def walk(kit: Kit) -> Walk:
    """Return the walk through the bins for what is still to be picked; what would do as well."""
    found = bare_walk(kit)
    return replace(
        found,
        doubted=tuple(one for one in netting.told(kit) if one.counted < one.needed),
        others=tuple(other_ways.when_short(kit, [stop.line.item for stop in found.short])),
    )


def bare_walk(kit: Kit) -> Walk:
    """Return the walk alone, as a sheet has it."""
    progress, titles = fold(kit), step_titles(kit)
    from_where = sourcing.sources(kit, progress)
    stops = [
        Stop(source.place, source, row.line, titles.get(row.line.step, row.line.step))
        for row in progress.lines
        for source in from_where.get(row.line.pk, [])
    ]
    return Walk(
        tuple(sorted((s for s in stops if s.source.kind in ("shelf", "bag")), key=_order_of_walk)),
        tuple(s for s in stops if s.source.kind in ("box", "van")),
        tuple(s for s in stops if s.source.kind == "short"),
        progress=progress,
    )


def _order_of_walk(stop: Stop) -> tuple[int, str, str, int]:
    """Bins as they are walked; in one bin each bag made ahead, then the heavy things first."""
    assert stop.shelf is not None, "what lies on a shelf has a place"
    bag = stop.source.place.code if stop.source.kind == "bag" and stop.source.place else "~"
    return stop.shelf.order, stop.shelf.code, bag, -stop.line.item.mass_g


def changes_about(kit: Kit) -> dict[str, Any]:
    """Return what a page shows of a kit's changes, moves and open questions."""
    moves = kit.snapshot["moves"]
    codes = {move["item"] for move in moves}
    names = dict(Item.objects.filter(code__in=codes).values_list("code", "name"))
    return {
        "by_hand": by_hand.beside(kit),
        "changes": kit.changes.select_related("by").order_by("-number"),
        "moves": [{**move, "name": names.get(move["item"], move["item"])} for move in moves],
        "questions": signing.asked(kit),
    }


def in_trouble(progress: Progress) -> list[LineProgress]:
    """Return the lines with a problem: claimed twice, missing, damaged."""
    return [row for row in progress.lines if row.state in ("dispute", "missing", "damaged")]


def not_packed(progress: Progress) -> list[LineProgress]:
    """Return the other lines of which something still lies on the shelf."""
    bad = in_trouble(progress)
    return [row for row in progress.lines if row.to_pick and row not in bad]


def jobs_of_crew(person: Person, today: date) -> list[Row]:
    """Return the jobs on whose crew this person is: open ones, those still to come, and those that
    were closed today, for that can be taken back."""
    jobs = Job.objects.filter(crew=person, cancelled_at=None).select_related("site__place", "van")
    jobs = jobs.filter(
        Q(date__gte=today)
        | Q(kits__released_at__isnull=False, kits__closed_by=None)
        | Q(kits__closed_by__received_at__date=today)
    )
    return rows_of(jobs.distinct().order_by("date", "leaves_at", "code"))


def still_out(person: Person, today: date) -> list[tuple[Kit, list[Left]]]:
    """Return the open kits whose day has come of which something is left away from the depot."""
    kits = Kit.objects.filter(released_at__isnull=False, closed_by=None, job__date__lte=today)
    kits = kits.filter(job__in=jobs_of(person)).select_related("job__site__place", "job__van")
    found = [(kit, left_of(kit)) for kit in kits.order_by("job__date", "code")]
    away = (PlaceKind.VAN, PlaceKind.SITE)
    out = [(kit, [one for one in left if one.place.within(*away)]) for kit, left in found]
    return [(kit, left) for kit, left in out if left]


def site_names(codes: Iterable[str]) -> dict[str, Named]:
    """Say how pages of the lower house show sites."""
    return {
        site.place.code: Named(str(site), reverse("site", args=[site.place.code]))
        for site in _SITES.ask(code=codes)
    }


def kit_names(codes: Iterable[str]) -> dict[str, Named]:
    """Say how pages of the lower house show kits."""
    known = Kit.objects.filter(code__in=list(codes)).values_list("code", flat=True)
    return {code: Named(f"Kit {code}", reverse("kit", args=[code])) for code in known}
