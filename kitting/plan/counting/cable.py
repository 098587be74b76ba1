"""The smallest conductor that carries the current and keeps the drop over the run; one piece per
run (or one for each core that lies by itself).

Source: IEC 60364-5-52 tables B.52.2 to B.52.5 (ampacity), B.52.14 (ambient), B.52.17 (grouping),
IEC 60228 (resistance at 20 C), IEC 60287 (0.00393 per K); or NEC table 310.16, 310.15(B) and (C),
110.14(C) (terminals), 240.4(D) (small conductors), chapter 9 table 8. Continuous load x 1.25: NEC
210.19(A)(1). Drop 2 x L x I x R, three phase sqrt 3 x L x I x R (power factor 1, reactance left
out). Stricter than NEC 210.19(A)(1): what is left after ambient and grouping must still carry the
1.25-fold, for the overcurrent device is as large. The local code and a licensed electrician have
the last word on conductor size.
"""

import math
from dataclasses import dataclass

from kitting.plan import conductors, linear
from kitting.plan.conductors import IEC, LOADED, NEC, NoFigure, Steps
from kitting.plan.counting.length import CARRIED, one_piece
from kitting.plan.given import Book, CannotCount, Given, Task, Threshold
from kitting.plan.items import Conductor
from kitting.plan.linear import Linear
from kitting.plan.reading import Table, shown
from kitting.plan.site import Scope


@dataclass(frozen=True, slots=True)
class Size:
    """One cable that may be chosen."""

    item: str
    said: str
    """As "6 mm2" or "10 AWG"."""
    area: float
    """mm2"""
    carries: float
    """A by its insulation, at 30 C and alone."""
    most: float
    """A at most, whatever is around it: terminals, small conductors."""
    why_most: str
    longest: int
    """mm of cut length that keep the drop."""


@dataclass(frozen=True, slots=True)
class Around:
    """Something around the cable that lowers what it carries."""

    figure: Linear
    steps: Steps
    what: str
    """As "ambient C"."""
    words: str
    """As "at {} C"."""

    def lowers(self, scope: Scope) -> tuple[float, str]:
        """(factor, in words where it changes anything). Raises CannotCount, UnknownInput."""
        for name, _ in self.figure.terms:
            answer = scope.read(name)
            if not isinstance(answer, int):
                got = "nothing" if answer is None else repr(answer)
                raise CannotCount(f"expected a number for {self.what} from {name!r}, got {got}")
        value = self.figure.value(scope)
        try:
            factor = conductors.factor(self.steps, value, self.what)
        except NoFigure as none:
            raise CannotCount(str(none)) from none
        return factor, "" if factor == 1 else f" x {factor:g} {self.words.format(value)}"


@dataclass(frozen=True, slots=True)
class Cable:
    """The load, the limit, and the sizes from small to large."""

    sizes: tuple[Size, ...]
    design: float
    """A the conductor must carry."""
    load: str
    """The current in words."""
    allowed: float
    """V of drop allowed."""
    allowance: int
    """mm added to each run for its ends."""
    each: int
    """Pieces for each run."""
    around: tuple[Around, ...]

    def items(self) -> tuple[str, ...]:
        """Every size."""
        return tuple(size.item for size in self.sizes)

    def counted(self) -> tuple[str, ...]:
        """It counts no lines."""
        return ()

    def count(self, task: Task) -> list[Given]:
        """One piece of the smallest size that carries and keeps the drop."""
        cut = task.scope.number("length") + self.allowance
        factor, lowered = 1.0, ""
        for around in self.around:
            by, words = around.lowers(task.scope)
            factor, lowered = factor * by, lowered + words
        for size in self.sizes:
            if amps(size, factor) >= self.design and cut <= size.longest:
                piece = one_piece(size.item, task, self.allowance, self.each)
                words = (
                    f"{self.load}; {size.said} carries {told(size, factor, lowered)} and keeps the"
                    f" drop of {self.allowed:g} V up to {size.longest} mm; {piece.words}"
                )
                return [piece._replace(words=words)]
        raise CannotCount(self._nothing(cut, factor, lowered))

    def _nothing(self, cut: int, factor: float, lowered: str) -> str:
        asked = f"{self.design:g} A over {cut} mm with {self.allowed:g} V of drop"
        words = f"no listed conductor carries {asked}"
        if not self.sizes:
            return words
        last = self.sizes[-1]
        return (
            f"{words}; {last.said} carries {told(last, factor, lowered)} and keeps the drop up to"
            f" {last.longest} mm"
        )

    def thresholds(self, book: Book) -> list[Threshold]:
        """The longest run of every size, and every step of ambient and grouping."""
        runs = [Threshold(CARRIED, size.longest - self.allowance) for size in self.sizes]
        steps = [
            Threshold(around.figure, upto) for around in self.around for upto, _ in around.steps
        ]
        return runs + steps


def amps(size: Size, factor: float) -> float:
    """A the size carries here."""
    return min(size.most, round(size.carries * factor, 6))


def told(size: Size, factor: float, lowered: str) -> str:
    """What the size carries here, in words.

    >>> told(Size("c", "6 mm2", 6, 46, 1000, "", 0), 0.87, " x 0.87 at 40 C")
    '46 A x 0.87 at 40 C = 40.02 A'
    """
    words = f"{size.carries:g} A"
    if lowered:
        words += f"{lowered} = {round(size.carries * factor, 6):g} A"
    if size.most < size.carries * factor:
        words += f", held to {size.most:g} A by {size.why_most}"
    return words


def parse(table: Table, book: Book) -> Cable:
    """sizes, system, current, other, voltage, drop_permille, edition, method, insulation, terminal,
    ambient, grouped, continuous, allowance, each."""
    system = table.text("system", among=LOADED)
    current, other = table.whole("current", 1, 1000), table.whole("other", 0, 1000, 0)
    voltage, permille = table.whole("voltage", 1, 1500), table.whole("drop_permille", 1, 200)
    continuous = table.flag("continuous")
    allowed = voltage * permille / 1000
    rated = _rated(table, system)
    sizes = []
    for code in table.texts("sizes"):
        conductor = book.items[code].conductor if code in book.items else None
        if conductor is None:
            table.fault("sizes", f"expected cables with a conductor, got {code!r}")
        elif rated is not None:
            try:
                carries, most, why, ohm_km = rated.figures(conductor)
            except NoFigure as none:
                table.fault(
                    "sizes", f"expected cables with published figures, got {code!r}: {none}"
                )
                continue
            reach = conductors.longest(system, current + other, ohm_km, allowed)
            sizes.append(Size(code, conductor.size, conductor.area, carries, most, why, reach))
    sizes.sort(key=lambda size: size.area)
    design, load = _load(current, other, continuous)
    return Cable(
        tuple(sizes),
        design,
        load,
        allowed,
        table.whole("allowance", default=0),
        table.whole("each", 1, 20, 1),
        _around(table, book, rated),
    )


def _load(current: int, other: int, continuous: bool) -> tuple[float, str]:
    """(A to be carried, in words)."""
    if not continuous:
        words = f"{current} A + {other} A = {current + other} A" if other else f"{current} A"
        return float(current + other), words
    design = conductors.continuous(current, other)
    beside = f" + {other} A" if other else ""
    return design, f"{current} A x 1.25{beside} = {design:g} A"


def _around(table: Table, book: Book, rated: "ByIec | ByNec | None") -> tuple[Around, ...]:
    ambient = linear.parse(table, "ambient", book.names, Linear(30))
    grouped = linear.parse(table, "grouped", book.names, Linear(1))
    if rated is None:
        return ()
    together = "for {} circuits together" if rated.edition == IEC else "for {} conductors together"
    grouping = conductors.grouped_steps(rated.edition)
    found = (
        Around(ambient, rated.ambient(), "ambient C", "at {} C"),
        Around(grouped, grouping, together[7:], together),
    )
    for key, around in zip(("ambient", "grouped"), found, strict=True):
        if not around.figure.terms and around.figure.fixed > around.steps[-1][0]:
            last = around.steps[-1][0]
            table.fault(key, f"expected at most {last}, got {around.figure.fixed}")
    return found


def _rated(table: Table, system: str) -> "ByIec | ByNec | None":
    """By which tables the sizes are rated; None where the rule does not say it."""
    edition = table.text("edition", IEC, (IEC, *NEC))
    if not edition:
        table.taken.update(table.data)  # which keys belong to it is not known
        return None
    if edition == IEC:
        method = table.text("method", among=conductors.METHODS)
        insulation = table.text("insulation", "PVC", conductors.HOTTEST)
        hottest = conductors.HOTTEST.get(insulation, 70)
        terminal = _one_of(table, "terminal", (70, 90), 70)
        held = "PVC" if terminal < hottest else insulation
        known = method and insulation and system in LOADED
        return ByIec(edition, method, LOADED[system], held) if known else None
    column = _one_of(table, "insulation", conductors.COLUMNS)
    terminal = _one_of(table, "terminal", conductors.COLUMNS, 60)
    return ByNec(edition, column, terminal) if column and system in LOADED else None


def _one_of(table: Table, key: str, among: tuple[int, ...], default: int | None = None) -> int:
    if default is not None and not table.has(key):
        return default
    wanted = f"one of {', '.join(map(str, among))}"
    value = table.take(key, wanted)
    if isinstance(value, int) and value in among:
        return value
    if value is not None:
        table.fault(key, f"expected {wanted}, got {shown(value)}")
    return 0


@dataclass(frozen=True, slots=True)
class ByIec:
    """Rated by the IEC's tables. Where the terminals bear 70 C only, XLPE is read as PVC."""

    edition: str
    method: str
    loaded: int
    insulation: str

    def ambient(self) -> Steps:
        """Factors by ambient."""
        return conductors.ambient_steps(self.edition, self.insulation)

    def figures(self, conductor: Conductor) -> tuple[float, float, str, float]:
        """(A, A at most, why at most, ohm/km when warm). Raises NoFigure."""
        if conductor.awg:
            raise NoFigure(f"{conductor.size} is in no IEC table")
        area, hot = conductor.area, conductors.HOTTEST[self.insulation]
        carries = conductors.ampacity(area, self.method, self.loaded, self.insulation)
        cold = conductors.resistance(area, conductor.stranding, conductor.finish)
        return carries, math.inf, "", conductors.warmed(cold, hot)


@dataclass(frozen=True, slots=True)
class ByNec:
    """Rated by the NEC's tables."""

    edition: str
    column: int
    """C of the insulation."""
    terminal: int
    """C of the terminals."""

    def ambient(self) -> Steps:
        """Factors by ambient."""
        return conductors.ambient_steps(self.edition, self.column)

    def figures(self, conductor: Conductor) -> tuple[float, float, str, float]:
        """(A, A at most, why at most, ohm/km when warm). Raises NoFigure."""
        if not conductor.awg:
            raise NoFigure(f"{conductor.size} is in no NEC table")
        carries = conductors.nec_ampacity(conductor.awg, self.column, self.edition)
        ends = conductors.nec_ampacity(conductor.awg, self.terminal or 60, self.edition)
        bounds = [(ends, f"its terminals at {self.terminal} C")]
        bounds.append((conductors.nec_small(conductor.awg), "the rule for small conductors"))
        most, why = min(bounds)
        ohm_kft = conductors.nec_resistance(conductor.awg)
        # What the terminals hold it to, it does not exceed by load: as XLPE is read as PVC above.
        hot = min(self.column, self.terminal or 60)
        warm = conductors.warmed(ohm_kft, hot, conductors.ALPHA_75, 75)
        return carries, most, why, conductors.per_km(warm)
