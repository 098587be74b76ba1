"""An anchor through the layers of a wall or floor: the shortest that holds in what bears.

Source: geometry of a through fixing: length >= fixture + layers in front + embedment; hole = layers
in front + embedment, and deeper by what the anchor's sheet asks (a rule of thumb is 1/2 in; the
approval goes first); behind the hole the bearing layer keeps what the sheet asks. What the wall
bears is a competent person's to judge, and the anchor's approval says which anchor may be used.
"""

from dataclasses import dataclass

from kitting.plan import linear
from kitting.plan.conditions import Condition, When
from kitting.plan.given import Book, CannotCount, Carried, Given, Task, Threshold, joined, times
from kitting.plan.items import Anchor as Sheet
from kitting.plan.items import FamilyItem, Raise
from kitting.plan.linear import Linear
from kitting.plan.reading import Table, shown


@dataclass(frozen=True, slots=True)
class Wall:
    """What the anchor goes through and what it holds in."""

    fixture: Linear
    """mm of what is held, outside the wall."""
    front: Linear
    """mm of all layers in front of the bearing one."""
    material: str
    """What bears: an axis that says so, or the material itself."""
    asked: bool
    """Whether `material` is an axis."""
    bearing: Linear
    """mm of the bearing layer."""


@dataclass(frozen=True, slots=True)
class There:
    """One wall in mm."""

    fixture: int
    front: int
    material: str
    bearing: int


@dataclass(frozen=True, slots=True)
class Anchors:
    """The wall and the anchors, shortest first."""

    wall: Wall
    sheets: tuple[tuple[str, Sheet], ...]
    """(item, what it asks)"""
    each: int
    """Pieces per need."""

    @property
    def couples(self) -> tuple[Raise, ...]:
        """The hole that each anchor wants drilled."""
        return tuple(_drill(sheet) for _, sheet in self.sheets if sheet.hole)

    def items(self) -> tuple[str, ...]:
        """Every anchor that may be chosen."""
        return tuple(code for code, _ in self.sheets)

    def counted(self) -> tuple[str, ...]:
        """It counts no lines."""
        return ()

    def count(self, task: Task) -> list[Given]:
        """The shortest anchor that holds; each wants its hole, so many mm deep."""
        there, items = _there(self.wall, task), task.book.items
        meant = [
            (items[code], sheet) for code, sheet in self.sheets if there.material in sheet.holds
        ]
        if not meant:
            listed = ", ".join(items[code].name for code, _ in self.sheets)
            raise CannotCount(f"none of {listed} is for {there.material}")
        why_not = []
        for item, sheet in meant:
            reason = _against(item, sheet, there)
            if not reason:
                return [self._given(item, sheet, there, task.demand.number)]
            why_not.append(reason)
        raise CannotCount(f"no anchor for {there.material} holds here: {'; '.join(why_not)}")

    def _given(self, item: FamilyItem, sheet: Sheet, there: There, number: int) -> Given:
        deep = depth(sheet, there)
        total = number * self.each
        words = joined(_words(item, sheet, there, deep), times(number, self.each, item.name))
        raises = (_drill(sheet, total),) if sheet.hole else ()
        return Given(item.code, total, words, raises=raises, carries={"depth": deep})

    def thresholds(self, book: Book) -> list[Threshold]:
        """Where an anchor becomes too short, and where the bearing layer becomes too thin."""
        reach, found = plus(self.wall.fixture, self.wall.front), []
        for _, sheet in self.sheets:
            when = self._for(sheet)
            found.append(Threshold(reach, sheet.length - sheet.embed, when))
            kept = sheet.deeper + sheet.behind
            if sheet.flush:
                thick = plus(reach, self.wall.bearing)
                found.append(Threshold(thick, sheet.length + kept, when))
            else:
                found.append(Threshold(self.wall.bearing, sheet.embed + kept, when))
        return found

    def carried(self, book: Book) -> dict[str, list[Carried]]:
        """The depth of the hole of every anchor."""
        found = []
        for code, sheet in self.sheets:
            raises = (*book.items[code].raises, *((_drill(sheet),) if sheet.hole else ()))
            found.append(Carried(_depth(sheet, self.wall), self._for(sheet), raises))
        return {"depth": found}

    def _for(self, sheet: Sheet) -> When:
        """Where the wall is asked for: the answers that the anchor is for."""
        if not self.wall.asked:
            return ()
        return (Condition(self.wall.material, frozenset(sheet.holds), 0, 0),)


def plus(*figures: Linear) -> Linear:
    """The sum of some figures."""
    terms: dict[str, int] = {}
    for name, factor in (term for figure in figures for term in figure.terms):
        terms[name] = terms.get(name, 0) + factor
    return Linear(sum(figure.fixed for figure in figures), tuple(terms.items()))


def depth(sheet: Sheet, there: There) -> int:
    """mm to drill from the face of the wall."""
    inside = sheet.length - there.fixture if sheet.flush else there.front + sheet.embed
    return inside + sheet.deeper


def _depth(sheet: Sheet, wall: Wall) -> Linear:
    if not sheet.flush:
        return plus(wall.front, Linear(sheet.embed + sheet.deeper))
    less = Linear(-wall.fixture.fixed, tuple((name, -by) for name, by in wall.fixture.terms))
    return plus(less, Linear(sheet.length + sheet.deeper))


def _there(wall: Wall, task: Task) -> There:
    scope = task.scope
    material = str(scope.read(wall.material)) if wall.asked else wall.material
    figures = (wall.fixture, wall.front, wall.bearing)
    fixture, front, bearing = (figure.value(scope) for figure in figures)
    return There(fixture, front, material, bearing)


def _against(item: FamilyItem, sheet: Sheet, there: There) -> str:
    """Why an anchor does not hold here; empty where it does."""
    wanted = there.fixture + there.front + sheet.embed
    if sheet.length < wanted:
        return f"{item.name} is {sheet.length} mm long, {wanted} mm are wanted"
    thick = depth(sheet, there) - there.front + sheet.behind
    if there.bearing < thick:
        return f"{item.name} wants {thick} mm of {there.material}, there are {there.bearing} mm"
    return ""


def _words(item: FamilyItem, sheet: Sheet, there: There, deep: int) -> str:
    wanted = there.fixture + there.front + sheet.embed
    words = (
        f"{there.fixture} mm held + {there.front} mm in front + {sheet.embed} mm in"
        f" {there.material} = {wanted} mm; {item.name} is {sheet.length} mm long"
    )
    kept = f"; {there.bearing} mm of {there.material}, {there.front + there.bearing - deep} mm"
    words += f"{kept} stay behind the hole"
    return f"{words}; hole {sheet.hole} mm wide, {deep} mm deep" if sheet.hole else words


def _drill(sheet: Sheet, count: int = 1) -> Raise:
    return Raise("drill", f"{sheet.hole} mm", count)


def parse(table: Table, book: Book) -> Anchors:
    """fixture (a figure in mm), layers (the last one bears), choose, optional each."""
    sheets = []
    for code in table.texts("choose"):
        sheet = book.items[code].anchor if code in book.items else None
        if sheet is not None:
            sheets.append((code, sheet))
        elif code in book.items:
            table.fault("choose", f"expected items with an anchor's figures, got {code!r}")
        else:
            table.unknown("choose", code, book.items)
    sheets.sort(key=lambda found: (found[1].length, found[1].hole, found[0]))
    wall = _wall(table, book)
    held = {material for _, sheet in sheets for material in sheet.holds}
    if not wall.asked and wall.material not in held:
        table.fault("layers", f"expected an axis or a held material, got {shown(wall.material)}")
    return Anchors(wall, tuple(sheets), table.whole("each", 1, 1000, 1))


def _wall(table: Table, book: Book) -> Wall:
    fixture = linear.parse(table, "fixture", book.names)
    layers = []
    for row in table.rows("layers"):
        thickness = linear.parse(row, "thickness", book.names)
        layers.append((row.text("material", ""), thickness))
        row.finish()
    if not layers or not layers[-1][0] or any(material for material, _ in layers[:-1]):
        table.fault("layers", "expected layers of which the last, and only it, has a material")
        return Wall(fixture, Linear(0), "", True, Linear(0))
    material, bearing = layers[-1]
    front = plus(*(thickness for _, thickness in layers[:-1]))
    return Wall(fixture, front, material, material in book.names, bearing)
