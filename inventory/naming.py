"""What a recall's rule names among all that ever was ours, and what of it cannot be told."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from itertools import islice

from django.db.models import Exists, OuterRef, Q, QuerySet

from inventory import unseen
from inventory.codes.recall_judging import CANNOT_TELL, HIT, NO, Judge, Judgement, Known, plain
from inventory.codes.recall_rule import Row, Rule, parse
from inventory.models import Holding, Item, ItemCode, ListedSerial, Lot, NoticeHit, Unit
from inventory.models import UnitAlias as Alias
from inventory.narrowing import UPS, batches_of, of_models, parts_of, units_of
from inventory.newcomers import New
from inventory.rows import Among, Question
from inventory.unseen import Unseen

_NAMED = Question(
    lambda: Item.objects.filter(pk__in=Among(Item, "id")).values_list("pk", "code", "name")
)
_CODED = Question(
    lambda: ItemCode.objects.filter(
        label_pattern=False, item__in=Among(ItemCode, "item")
    ).values_list("item", "text")
)
_SHOWN = Question(
    lambda: Alias.objects.filter(
        kind=Alias.Kind.REPORTED, unit__in=Among(Alias, "unit")
    ).values_list("unit", "key")
)
_UPS = Question(lambda: Lot.objects.filter(pk__in=Among(Lot, "id")).values_list("pk", *UPS))
MANY, FEW = 2000, 100  # units read at once: for all, and where the first are soon enough


@dataclass(frozen=True, slots=True)
class Judged:
    """One thing and what the rule says of it."""

    item: int
    judgement: Judgement
    unit: int | None = None
    lot: int | None = None
    serial: str = ""  # normal form, or the batch's number
    place: int | None = None  # of a unit
    words: str = ""  # of what is no row of ours yet: where it was listed or stands
    unseen: Unseen | None = None


@lru_cache(maxsize=64)
def rule_of(text: str) -> Rule:
    """Read a stored rule, once."""
    return parse(text)


@lru_cache(maxsize=64)
def judges_of(text: str) -> tuple[Judge, Judge]:
    """Return the judges of a stored rule: of things with serials, and of batches.

    A row that names no batch and no model says nothing about what has no serial.
    """
    rule = rule_of(text)
    rows = tuple(row for row in rule.rows if row.lots or row.models)
    return Judge(rule), Judge(Rule(rows))


def names_of(items: Iterable[int] | None = None) -> dict[int, frozenset[str]]:
    """Return item id -> every text that names it, folded; of all items unless some are given."""
    found: dict[int, set[str]] = defaultdict(set)
    wanted = set(Item.objects.values_list("pk", flat=True) if items is None else items)
    for pk, code, name in _NAMED.tuples(id=wanted):
        found[pk] |= {plain(code), plain(name)}
    for pk, text in _CODED.tuples(item=wanted):
        found[pk].add(plain(text))
    return {pk: frozenset(names) for pk, names in found.items()}


def unknown_models(rule: Rule) -> list[str]:
    """Say which models of the rule name no item of ours, each with its row."""
    known = {name for names in names_of().values() for name in names}
    return [
        f"Row {row.number}: expected an item of ours by code, name or article number, "
        f"got {model!r}. Leave it out if we never had it."
        for row in rule.rows
        for model in row.models
        if plain(model) not in known
    ]


def judged_by(
    texts: Sequence[str], things: Sequence[New], names: dict[int, frozenset[str]]
) -> list[list[Judgement]]:
    """Judge things by stored rules: for each rule what it says of each thing, in their order.

    A few questions for all of them: a file may bring hundreds at once.
    """
    shown: dict[int, list[str]] = defaultdict(list)
    units = [thing.pk for thing in things if isinstance(thing, Unit)]
    for pk, other in _SHOWN.tuples(unit=units) if units else ():
        shown[pk].append(other)
    lots = {thing.lot_id for thing in things if isinstance(thing, Unit)}
    ups = _ups(lots | {thing.pk for thing in things if isinstance(thing, Lot)})

    def judged(text: str, thing: New) -> Judgement:
        of_units, of_batches = judges_of(text)
        if isinstance(thing, Unseen):
            return _judge_unseen(text, thing, names[thing.item_id])
        if isinstance(thing, Lot):
            return of_batches.judge(Known(None, names[thing.item_id], ups[thing.pk]))
        serial = _serial(thing.serial_key, thing.evidence)
        known = Known(serial, names[thing.item_id], ups[thing.lot_id], thing.made_on)
        return _by_any(of_units, known, shown.get(thing.pk, ()))

    return [[judged(text, thing) for thing in things] for text in texts]


def everything(text: str) -> Iterator[Judged]:
    """Judge all that ever was ours or is on its way; what is ruled out is left out."""
    rule, names = rule_of(text), names_of()
    yield from _units(text, names, Unit.objects.filter(_items(rule, names)))
    yield from _lots(text, names, _every_batch(text, names))
    judge = judges_of(text)[0]
    for listed in _on_its_way().select_related("delivery"):
        judged = judge.judge(Known(listed.key, names[listed.item_id]))
        words = f"on the file of delivery {listed.delivery.code}"
        yield from _kept(Judged(listed.item_id, judged, serial=listed.key, words=words))
    yield from _unseen(text, names)


def hits(text: str) -> list[Judged]:
    """Judge only what the database says the rule may name."""
    return list(hits_of(text, parts_of(rule_of(text))))


def hits_of(text: str, parts: Iterable[Row], notice: int | None = None) -> Iterator[Judged]:
    """Give what parts of a rule name, each once, what this recall has set aside left out."""
    names = names_of()
    ours = NoticeHit.objects.filter(notice=notice)
    units = Unit.objects.exclude(pk__in=ours.exclude(hold__unit=None).values("hold__unit"))
    lots = Lot.objects.exclude(pk__in=ours.exclude(hold__lot=None).values("hold__lot"))
    shown = Alias.objects.filter(kind=Alias.Kind.REPORTED)
    given: set[tuple[int | None, int | None]] = set()
    for part in parts:
        as_shown = shown.filter(units_of(part, names, "key", "unit__")).values("unit")
        for narrowed in (units_of(part, names, "serial_key", ""), Q(pk__in=as_shown)):
            yield from _fresh(_units(text, names, units.filter(narrowed), FEW), given)
        yield from _fresh(_lots(text, names, batches_of(lots, part, names)), given)


def _judge_unseen(text: str, one: Unseen, names: frozenset[str]) -> Judgement:
    """Judge by a stored rule what nobody has seen, by its kind and what a file says of it."""
    lots = (one.batch,) if one.batch else ()
    return judges_of(text)[0].judge(Known("", names, lots, one.made_on))


def unseen_hits(text: str) -> list[Judged]:
    """Judge what stands unseen, if the rule can name anything by other than its serial."""
    if all(row.prefixes or row.spans or row.serials for row in rule_of(text).rows):
        return []
    return [one for one in _unseen(text, names_of()) if one.judgement.word == HIT]


def _unseen(text: str, names: dict[int, frozenset[str]]) -> Iterator[Judged]:
    for one in unseen.everywhere():
        judged = _judge_unseen(text, one, names[one.item_id])
        words = f"not seen: {one.words}"
        yield from _kept(Judged(one.item_id, judged, place=one.place.pk, words=words, unseen=one))


def _fresh(found: Iterable[Judged], given: set[tuple[int | None, int | None]]) -> Iterator[Judged]:
    for one in found:
        if one.judgement.word == HIT and (one.unit, one.lot) not in given:
            given.add((one.unit, one.lot))
            yield one


def _kept(judged: Judged) -> Iterator[Judged]:
    if judged.judgement.word != NO:
        yield judged


def _serial(serial_key: str, evidence: str) -> str:
    return "" if evidence == "owed" else serial_key


def _by_any(judge: Judge, known: Known, shown: Sequence[str]) -> Judgement:
    """A unit is known by its serial and by what its electronics show."""
    judged = judge.judge(known)
    for other in shown if judged.word != HIT else ():
        by_other = judge.judge(replace(known, serial=other))
        if by_other.word == HIT or (by_other.word == CANNOT_TELL and judged.word == NO):
            judged = replace(by_other, why=f"shows itself as {other}: {by_other.why}", looked=())
    return judged


def _items(rule: Rule, names: dict[int, frozenset[str]]) -> Q:
    """Narrow to the items of the rule, where each of its rows names some."""
    if all(row.models for row in rule.rows):
        models = [model for row in rule.rows for model in row.models]
        return Q(item__in=of_models(models, names))
    return Q()


def _units(
    text: str, names: dict[int, frozenset[str]], units: QuerySet[Unit], at_once: int = MANY
) -> Iterator[Judged]:
    """Judge units; at_once: how many are read before the first is given."""
    judge = judges_of(text)[0]
    fields = ("pk", "item_id", "serial_key", "evidence", "made_on", "place_id")
    lots = [f"lot__{up}" for up in UPS]
    rows = units.order_by("pk").values_list(*fields, *lots).iterator(chunk_size=at_once)
    while some := list(islice(rows, at_once)):
        shown: dict[int, list[str]] = defaultdict(list)
        others = Alias.objects.filter(kind=Alias.Kind.REPORTED, unit__in=[pk for pk, *_ in some])
        for pk, other in others.values_list("unit", "key"):
            shown[pk].append(other)
        for pk, item, serial, evidence, made_on, place, *ups in some:
            known = Known(_serial(serial, evidence), names[item], _numbers(ups), made_on)
            judged = _by_any(judge, known, shown.get(pk, ()))
            yield from _kept(Judged(item, judged, unit=pk, serial=known.serial or "", place=place))


def _every_batch(text: str, names: dict[int, frozenset[str]]) -> QuerySet[Lot]:
    """Every batch, if a row can say something about one."""
    rule = rule_of(text)
    if not any(row.models or row.lots for row in rule.rows):
        return Lot.objects.none()
    named = of_models((model for row in rule.rows for model in row.models), names)
    kept = Q(item__in=named) | Q(item__tracking__in=("lot", "length"))
    return Lot.objects.exclude(item__tracking="serial").filter(~Q(key="") | kept)


def _lots(text: str, names: dict[int, frozenset[str]], found: QuerySet[Lot]) -> Iterator[Judged]:
    """Judge batches; what has no number only where some of it is here, for it is always there."""
    here = Holding.objects.filter(outside=False, quantity__gt=0).values("lot")
    rows = found.filter(~Q(key="") | Q(pk__in=here)).order_by("pk")
    judge = judges_of(text)[1]
    for pk, item, number, *ups in rows.values_list("pk", "item_id", "number", *UPS):
        judged = judge.judge(Known(None, names[item], _numbers(ups)))
        yield from _kept(Judged(item, judged, lot=pk, serial=number))


def _numbers(keys: Iterable[str | None]) -> tuple[str, ...]:
    """The number of a batch and of what it was taken from, as far as they have one."""
    return tuple(key for key in keys if key)


def _ups(lots: Iterable[int]) -> dict[int, tuple[str, ...]]:
    return {pk: _numbers(keys) for pk, *keys in _UPS.tuples(id=lots)}


def _on_its_way() -> QuerySet[ListedSerial]:
    """Lines of suppliers' files whose thing nobody has met."""
    met = Unit.objects.filter(item=OuterRef("item"), serial_key=OuterRef("key"))
    return ListedSerial.objects.filter(~Exists(met)).order_by("pk")
