"""What pages show of recalls: the dry run by where things are and have been, and the list."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from itertools import compress

from django.db.models import Count, Q, QuerySet

from inventory.codes.recall_judging import HIT
from inventory.ledger.steps import Standing
from inventory.models import (
    ContainerMove,
    Holding,
    Item,
    Movement,
    Notice,
    NoticeRule,
    Place,
    PlaceKind,
    Unit,
)
from inventory.models.places import MOVABLE
from inventory.naming import Judged, everything
from inventory.notices import called_about, held_by, spot, to_settle
from inventory.queries import standing
from inventory.scanning import UP
from inventory.subjects import Named
from inventory.subjects import named as named_subjects

SHOWN = 40  # things of one place or one reason that a page names; the others are counted
ALL = 10**9  # for programs
MANY = 500  # things asked about in one statement
NOTHING = (None, None)  # of what is no row of ours
Known = set[tuple[int | None, int | None]]  # ids of units and batches that a recall set aside
EVER = 2**62  # above every ledger number
HERE = {
    "shelf": "On the shelf",
    "kit": "Packed for a kit",
    "van": "On a van",
    "site": "At a site",
    "supplier": "With supplier or carrier",
    "gone": "Gone",
    "nowhere": "Not received yet",
}
_BY_STANDING = {
    Standing.SHELF: "shelf",
    Standing.OTHER_PARCEL: "kit",
    Standing.VAN: "van",
    Standing.OTHER_SITE: "site",
    Standing.OTHER_STACK: "site",
    Standing.OUTSIDE: "supplier",
    Standing.GONE: "gone",
    Standing.NOWHERE: "nowhere",
}


@dataclass(frozen=True, slots=True)
class Seen:
    """One thing of the dry run."""

    item: str  # its name
    marks: tuple[tuple[str, bool], ...]  # runs of the serial, and whether the rule looked at them
    why: str
    row: int  # of the rule
    been: tuple[str, ...]  # names of the places where it was before
    new: bool  # this recall has not set it aside
    code: str  # what `trace` is asked with, "" for what is no row of ours


@dataclass(slots=True)
class At:
    """What stands at one place."""

    name: str
    count: int = 0
    seen: list[Seen] = field(default_factory=list)  # the first of them
    site: str = ""  # code, for a site
    about: Named | None = None  # the site as the upper house calls it

    @property
    def more(self) -> int:
        """How many are not named."""
        return self.count - len(self.seen)


@dataclass(frozen=True, slots=True)
class Group:
    """Things that are in the same situation."""

    title: str
    count: int
    places: tuple[At, ...]


@dataclass(frozen=True, slots=True)
class DryRun:
    """What a rule names now."""

    hits: int
    new: int  # not set aside by this recall yet
    unseen: int  # stand unseen, and nobody was called about them yet
    groups: tuple[Group, ...]
    been: tuple[tuple[str, int], ...]  # place, how many of the hits were there before
    unclear: tuple[Group, ...]  # what cannot be told
    cannot_tell: int
    spared: int  # set aside by an earlier rule and not named by this one


def dry_run(notice: Notice | None, text: str, most: int = SHOWN) -> DryRun:
    """Judge everything by a rule; `notice` tells what is set aside already.

    most: things that are named of one place or reason; the others are counted.
    """
    found = list(everything(text))
    known = held_by(notice) if notice else set()
    called = called_about(notice) if notice else set()
    # What somebody found to be named, though no rule could tell, is named.
    ours = known - {NOTHING}
    sure = [o.judgement.word == HIT or (o.unit, o.lot) in ours for o in found]
    named = list(compress(found, sure))
    unclear = [one for one, is_sure in zip(found, sure, strict=True) if not is_sure]
    rows = _Rows(found, most)
    been = _been([one.unit for one in named if one.unit])
    counted = Counter(name for names in been.values() for name in names)
    ids = {(one.unit, one.lot) for one in named}
    return DryRun(
        hits=len(named),
        new=sum((one.unit, one.lot) not in known for one in named if one.unit or one.lot),
        unseen=len({spot(one.unseen) for one in named if one.unseen} - called),
        groups=_by_place(named, rows, been, known),
        been=tuple(counted.most_common()),
        unclear=_by_place(unclear, rows, {}, known),
        cannot_tell=len(unclear),
        spared=len({pair for pair in known if any(pair)} - ids),
    )


class _Rows:
    """Items and places of what was judged, fetched in a few statements."""

    def __init__(self, found: Sequence[Judged], most: int) -> None:
        self.most = most
        self.items = Item.objects.in_bulk({one.item for one in found})
        self.places = _places({one.place for one in found if one.place})
        self.lots: dict[int, list[Place]] = defaultdict(list)
        lots = [one.lot for one in found if one.lot]
        for some in _parts(lots):
            rows = Holding.objects.filter(lot__in=some).exclude(quantity__lte=0, outside=False)
            for row in rows.filter(quantity__gt=0).select_related(f"place__{UP}"):
                self.lots[row.lot_id].append(row.place)

    def where(self, one: Judged) -> list[Place | None]:
        """Where a thing is; a batch may lie at many places."""
        if not one.lot:
            return [self.places.get(one.place or 0)]
        here = [place for place in self.lots[one.lot] if not place.outside]
        gone = self.lots[one.lot][:1]
        return [*here] or [*gone] or [None]


def _places(ids: Iterable[int]) -> dict[int, Place]:
    found: dict[int, Place] = {}
    for some in _parts(list(ids)):
        found |= Place.objects.select_related(UP).in_bulk(some)
    return found


def _parts(ids: Sequence[int]) -> Iterator[Sequence[int]]:
    return (ids[start : start + MANY] for start in range(0, len(ids), MANY))


def _by_place(
    named: Sequence[Judged],
    rows: _Rows,
    been: dict[int, tuple[str, ...]],
    known: Known,
) -> tuple[Group, ...]:
    found: dict[str, dict[str, At]] = defaultdict(dict)
    for one in named:
        for place in rows.where(one):
            where, name = _stands(place, one.words)
            site = place.within(PlaceKind.SITE) if place is not None else None
            at = found[where].setdefault(name, At(name, site=site.code if site else ""))
            at.count += 1
            if len(at.seen) < rows.most:
                at.seen.append(_seen(one, rows, been.get(one.unit or 0, ()), known))
    sites = named_subjects(
        f"site:{at.site}" for places in found.values() for at in places.values() if at.site
    )
    for at in (at for places in found.values() for at in places.values()):
        at.about = sites.get(f"site:{at.site}")
    return tuple(
        Group(title, sum(at.count for at in found[where].values()), _sorted(found[where]))
        for where, title in HERE.items()
        if where in found
    )


def _sorted(places: dict[str, At]) -> tuple[At, ...]:
    return tuple(sorted(places.values(), key=lambda at: at.name))


def _stands(place: Place | None, words: str) -> tuple[str, str]:
    """Return the situation, a key of HERE, and the place that a person looks for."""
    if place is None:
        return "nowhere", words or "nobody has received it"
    where = _BY_STANDING[standing(place)]
    return where, _name(place)


def _name(place: Place) -> str:
    """The place that a person looks for: the site, the parcel on its van, the bin."""
    site = place.within(PlaceKind.SITE)
    if site is not None:
        return site.name
    packed = next((one for one in place.way_up() if one.subject), None)
    van = place.within(PlaceKind.VAN)
    if packed is not None:
        also = f", {van.name}" if van is not None and van.name not in packed.name else ""
        return f"{packed.name}{also}"
    fixed = next((one for one in place.way_up() if one.kind not in MOVABLE), place)
    return fixed.name


def _seen(one: Judged, rows: _Rows, been: tuple[str, ...], known: Known) -> Seen:
    return Seen(
        item=rows.items[one.item].name,
        marks=marks(one.serial, one.judgement.looked),
        why=f"{one.words}, {one.judgement.why}" if one.words and one.place else one.judgement.why,
        row=one.judgement.row,
        been=been,
        new=(one.unit, one.lot) not in known,
        code=one.serial if one.unit else "",
    )


def marks(serial: str, looked: Sequence[int]) -> tuple[tuple[str, bool], ...]:
    """Cut a serial into runs that a rule looked at and runs that it did not."""
    runs: list[tuple[str, bool]] = []
    for at, character in enumerate(serial):
        marked = at in looked
        if runs and runs[-1][1] == marked:
            runs[-1] = (runs[-1][0] + character, marked)
        else:
            runs.append((character, marked))
    return tuple(runs)


def _been(units: Sequence[int]) -> dict[int, tuple[str, ...]]:
    """Return unit id -> names of the places it was at before, each once, oldest first."""
    found: dict[int, tuple[str, ...]] = {}
    for some in _parts(units):
        stays: dict[int, list[tuple[int, Place]]] = defaultdict(list)
        moves = Movement.objects.filter(unit__in=some).order_by("pk")
        for move in moves.select_related(f"to_place__{UP}", "event"):
            stays[move.unit_id or 0].append((move.event.number, move.to_place))
        carried = _carried({place for stay in stays.values() for _, place in stay})
        now = _places(Unit.objects.filter(pk__in=some).values_list("place", flat=True))
        here = dict(Unit.objects.filter(pk__in=some).values_list("pk", "place"))
        for unit, stay in stays.items():
            ends = [number for number, _ in stay[1:]]
            stood = [
                _name(place)
                for (since, at), end in zip(stay, [*ends, EVER], strict=True)
                for place in _stood(at, since, end, carried)
            ]
            place = now.get(here.get(unit) or 0)
            today = _name(place) if place else ""
            found[unit] = tuple(name for name in dict.fromkeys(stood) if name != today)
    return found


def _carried(places: set[Place]) -> dict[int, list[tuple[int, Place]]]:
    """Return box or parcel id -> (ledger number, where to), of these and what carried them."""
    found: dict[int, list[tuple[int, Place]]] = {}
    boxes = {place.pk for place in places if place.kind in MOVABLE}
    while boxes:
        moves = ContainerMove.objects.filter(place__in=boxes).order_by("pk")
        for box in boxes:
            found[box] = []
        for move in moves.select_related(f"to_parent__{UP}", "event"):
            found[move.place_id].append((move.event.number, move.to_parent))
        around = {to for box in boxes for _, to in found[box]}
        boxes = {place.pk for place in around if place.kind in MOVABLE} - found.keys()
    return found


def _stood(
    place: Place, since: int, end: int, carried: dict[int, list[tuple[int, Place]]]
) -> Iterator[Place]:
    """Where a place stood between two ledger numbers: itself, unless it was carried about."""
    if place.kind not in MOVABLE:
        yield place
        return
    moves = carried.get(place.pk, [])
    before = [(since, to) for number, to in moves if number <= since][-1:]
    inside = [one for one in moves if since < one[0] < end]
    points = [*before, *inside]
    ends = [number for number, _ in points[1:]]
    for (begun, to), until in zip(points, [*ends, end], strict=True):
        yield from _stood(to, begun, until, carried)


def notices(over: bool = False) -> QuerySet[Notice]:
    """Recalls, newest first, with `held` things and `calls_open`; those over only if asked."""
    found = Notice.objects.select_related("partner", "by", "end__event")
    found = found.annotate(
        held=Count("hits", filter=Q(hits__in=to_settle(), hits__hold__place=None), distinct=True),
        calls_open=Count("calls", filter=Q(calls__answer=None), distinct=True),
        frozen=Count("rules__freezes", distinct=True),
    )
    return found if over else found.filter(end=None)


def rules_of(notice: Notice) -> QuerySet[NoticeRule]:
    """All versions of a rule, newest first."""
    rules = notice.rules.order_by("-version").select_related("by")
    return rules.prefetch_related("freezes__event__person")
