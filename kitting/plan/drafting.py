"""From the rows of a sheet of old job lists to the text of a trial edition.

Each row becomes a part of its need with a rule of its own, so that rows counted in different ways
stand side by side. Only entries, cable ways and bus ends cannot be split: their rows are counted in
one way, together. The three cables that come in from outside are always there (power, data,
earth), so that their entries and ways are asked for even where no row names them.

Source: common practice, no published source.
"""

import datetime as dt
import re
from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from kitting.plan import family
from kitting.plan.asking import Question, questions
from kitting.plan.errors import FamilyError, Fault
from kitting.plan.family import Family
from kitting.plan.first_hour import Row, SheetError
from kitting.plan.needs import ENTRY_NEEDS, NEEDS, PATH_NEEDS, RUN_NEEDS
from kitting.plan.sheet_cells import DEPTH, HEIGHT, PER_JOB, STEPS, WEIGHT, WIDTH
from kitting.plan.steps import ORDER
from kitting.plan.toml_text import Value, table

STACKS: Final = 3
MODULES: Final = 6
"""Most stacks, and most modules of a stack where no column says how many there were."""
METRE: Final = 1000  # mm
LONGEST_RUN: Final = 50_000  # mm
CABLES: Final = {"run power": "power cable", "run data": "data cable", "run earth": "earth cable"}
SPLIT: Final = {
    "per module": "module",
    "per joint": "joint",
    "per stack": "stack",
    "per gap": "gap",
    PER_JOB: "system",
}
LEADS: Final = ("link power", "link data")
"""Needs whose joints are those between the units only: no lead goes to the foot."""
TOTALS: Final[Mapping[str, Value]] = {
    "per module": "total_modules",
    "per joint": {"total_modules": 1, "stacks": 1},
    "per stack": "stacks",
    "per gap": {"stacks": 1, "fixed": -1},
    PER_JOB: 1,
}
"""Column -> how many of it a whole job has, as a figure of the family format. Each module stands on
the foot or on another, the head on the last: a stack has one joint more than modules."""
USUAL: Final = {
    "place module": "join",
    "place head": "join",
    "stand": "base",
    "fix to wall": "fix",
    "restrain": "fix",
    "tie stacks": "fix",
    "end the bus": "end",
    "blank ports": "end",
    "run earth": "earth",
    "bond": "earth",
    "enter cable": "gland",
    "blank entry": "gland",
    "seal entry": "seal",
    "clean": "seal",
    "dispense": "seal",
    "label": "label",
    "cover": "cover",
    "lift": "base",
    "make good": "base",
    "cap ports": "down",
    "pack unit": "down",
    **dict.fromkeys(("join units", "seal joints", "link power", "link data"), "join"),
    **dict.fromkeys(("connect stacks", "connect inverter", "run power", "run data"), "connect"),
    **dict.fromkeys(("support cable", "enclose cable", "protect and isolate"), "connect"),
}
"""Need -> the step that usually does it. Source: common practice, no published source."""


@dataclass(frozen=True, slots=True)
class Draft:
    """A trial edition made from a sheet."""

    text: str
    """TOML"""
    family: Family
    questions: tuple[Question, ...]


def draft(rows: Sequence[Row], *, name: str, title: str, edition: dt.date) -> Draft:
    """The trial edition of a sheet's rows. Raises SheetError with every row that cannot stand."""
    if not re.fullmatch(r"[a-z][a-z0-9_]{0,39}", name):
        message = f"expected small letters, digits and _ , beginning with a letter, got {name!a}"
        raise SheetError([Fault("name", "", message)])
    drafting = _Drafting(rows)
    text = drafting.text(name, " ".join(title.split()) or name, edition)
    if drafting.faults:
        raise SheetError(drafting.faults)
    try:
        found = family.parse(text, f"{name} from the sheet")
    except FamilyError as error:
        raise SheetError(list(error.faults)) from error
    return Draft(text, found, questions(found))


class _Drafting:
    """Collects the tables of one edition."""

    def __init__(self, rows: Sequence[Row]) -> None:
        self.rows = [row for row in rows if row.code]
        self.refused = [row for row in rows if not row.code]
        self.faults: list[Fault] = []
        self.tables: list[str] = []
        self.asked: set[str] = set()
        """Cables whose length is asked."""
        self.of_need: dict[str, list[Row]] = defaultdict(list)
        for row in self.rows:
            self.of_need[row.need].append(row)
        wanted = {row.need for row in self.refused}
        self.cables = [cable for need, cable in CABLES.items() if need not in wanted]

    def fault(self, row: Row, expected: str) -> None:
        got = row.per or "columns of modules"
        self.faults.append(Fault(row.where, got, f"expected {expected}, got a number under {got}"))

    def add(self, name: str, keys: Mapping[str, Value]) -> None:
        self.tables.append(table(name, keys))

    def text(self, name: str, title: str, edition: dt.date) -> str:
        """The whole edition."""
        self._shapes()
        for need, rows in self.of_need.items():
            for row in rows:
                self._row(need, row)
            if need in (*ENTRY_NEEDS, *PATH_NEEDS, "end the bus"):
                self._together(need, rows)
        for row in self.refused:
            self._nothing(row)
        self._ways()
        head = _head(name, title, edition, self._bounds())
        return "\n".join([head, *self._steps(), *self._items(), *self.tables])

    def _bounds(self) -> tuple[int, int]:
        columns = sorted({n for row in self.rows for n in row.by_modules})
        if not columns:
            return 1, MODULES
        for n in range(columns[0], columns[-1]):
            if n not in columns:
                message = f"No old job list has a stack of {n} modules"
                limit = {"name": f"{n} modules", "message": message, "measure": "modules"}
                self.add("limit", {**limit, "max": 0, "when": {"modules": [n]}})
        return columns[0], columns[-1]

    def _shapes(self) -> None:
        modules, heads = self.of_need["place module"], self.of_need["place head"]
        if not modules:
            wanted = f"a row for {NEEDS['place module'].plain!r}: which item is the module?"
            self.faults.append(Fault("the sheet", "For", f"expected {wanted}"))
        for kind, rows in (("module", modules), ("head", heads)):
            for row in rows[:1]:
                # For the drawing alone; what the sheet leaves out is drawn as a plain box.
                size = {"width": row.sizes.get(WIDTH, 600), "height": row.sizes.get(HEIGHT, 350)}
                depth = row.sizes.get(DEPTH, 200)
                self.add("shape", {"kind": kind, **size, "depth": depth, "item": row.code})

    def _steps(self) -> Iterator[str]:
        used = {_step(row) for row in self.rows} | {"look"}
        titles = {key: title.capitalize() for title, key in STEPS.items()}
        for key in ORDER:
            if key in used:
                yield table("step", {"key": key, "title": titles[key]})

    def _items(self) -> Iterator[str]:
        boxes: dict[str, dict[str, int]] = defaultdict(dict)
        for row in self.rows:
            if row.box is not None:
                boxes[row.box[0]][row.code] = row.box[1]
        first: dict[str, Row] = {}
        sizes: dict[str, int] = {}
        for row in self.rows:
            first.setdefault(row.code, row)
            sizes[row.code] = max(sizes.get(row.code, 0), row.sizes.get(WEIGHT, 0))
        for code, row in first.items():
            carton: list[Value] = [
                {"item": inside, "quantity": n} for inside, n in boxes[code].items()
            ]
            keys: dict[str, Value] = {"code": code, "name": row.name, "tracking": row.tracking}
            yield table("item", {**keys, "mass_g": sizes[code], "carton": carton})

    def _rule(self, row: Row, of: str, keys: Mapping[str, Value], name: str = "") -> None:
        named: dict[str, Value] = {
            "name": name or f"{row.need}: {of or row.code}",
            "need": row.need,
        }
        step = {"of": of, "step": _step(row), "source": row.where}
        self.add("rule", {**named, **step, **keys})

    def _row(self, need: str, row: Row) -> None:
        if need in (*ENTRY_NEEDS, *PATH_NEEDS, "end the bus"):
            return  # counted together
        if need in RUN_NEEDS:
            self._run(row)
        elif need == "blank entry":
            self._holes(row)
        elif NEEDS[need].per == "step":
            of = f"{row.step}: {row.code}"
            self.add("part", {"need": need, "of": of, "per": "system"})
            self._of_job(row, of)
        elif row.by_modules:
            self.add("part", {"need": need, "of": row.code, "per": "stack"})
            self._by_modules(row, row.code)
        elif row.per in SPLIT:
            lead = need in LEADS and row.per == "per joint"
            self.add(
                "part", {"need": need, "of": row.code, "per": "link" if lead else SPLIT[row.per]}
            )
            self._rule(row, row.code, {"way": "each", "gives": {row.code: row.number}})
        else:
            self.fault(row, f"one of {', '.join(SPLIT)} or the columns of modules")

    def _of_job(self, row: Row, of: str) -> None:
        """A row whose need arises once in a job."""
        if row.by_modules:
            self._by_modules(row, of)
        elif row.per in TOTALS:
            per = {} if row.per == PER_JOB else {"per": TOTALS[row.per]}
            self._rule(row, of, {"way": "each", "gives": {row.code: row.number}, **per})
        else:
            self.fault(row, f"one of {', '.join(TOTALS)}")

    def _by_modules(self, row: Row, of: str) -> None:
        """A table by modules; where none is needed, said so."""
        some: list[Value] = [
            {"modules": n, "gives": {row.code: k}} for n, k in row.by_modules.items() if k
        ]
        none: list[Value] = [n for n, k in row.by_modules.items() if not k]
        held: list[Value] = [n for n, k in row.by_modules.items() if k]
        when: dict[str, Value] = {"when": {"modules": held}} if none else {}
        self._rule(row, of, {**when, "way": "table", "by": ["modules"], "rows": some})
        if none:
            why = "The old job lists have none with so many modules"
            keys: dict[str, Value] = {"when": {"modules": none}, "way": "built_in", "why": why}
            self._rule(row, of, keys, f"no {row.need}: {of}")

    def _run(self, row: Row) -> None:
        """A cable, lead or what goes with it: a run of its own beside the three that come in."""
        cable = CABLES.get(row.need)
        if row.per == "per metre":
            self._metres(row, cable)
        elif row.per in TOTALS:
            self._a_run(row, row.code, METRE)
            self._of_job(row, row.code)
        else:
            self.fault(row, f"one of {', '.join(TOTALS)} or per metre")

    def _metres(self, row: Row, cable: str | None) -> None:
        if cable is None:
            self.fault(row, f"one of {', '.join(TOTALS)}")
            return
        self.asked.add(cable)
        length = cable.replace(" ", "_")
        if row.tracking != "length":
            self._a_run(row, row.code, length)
            keys: dict[str, Value] = {"gives": {row.code: row.number}, "per": "length"}
            self._rule(row, row.code, {"way": "each", **keys, "every": METRE})
            return
        count, rest = divmod(row.number, METRE)
        if rest or not 1 <= count <= 10:
            self.fault(row, "1 for one cable, 2 for two beside each other, up to 10")
            return
        for number in range(1, count + 1):
            of = row.code if number == 1 else f"{row.code} {number}"
            self._a_run(row, of, length)
            self._rule(row, of, {"way": "length", "item": row.code})

    def _a_run(self, row: Row, of: str, length: Value) -> None:
        keys: dict[str, Value] = {"name": of, "need": row.need, "per": "system", "length": length}
        self.add("run", {**keys, "supported": False})

    def _holes(self, row: Row) -> None:
        """Holes that stay free: as many as the row says are closed."""
        factors = {"per module": "total_modules", "per stack": "stacks"}
        if row.per == PER_JOB:
            count: Value = row.number
        elif row.per in factors:
            count = {factors[row.per]: row.number}
        else:
            self.fault(row, f"one of {PER_JOB}, {', '.join(factors)}")
            return
        self.add("hole", {"name": f"free: {row.code}", "thread": row.code, "count": count})
        self._rule(row, row.code, {"way": "each", "gives": {row.code: 1}})

    def _together(self, need: str, rows: Sequence[Row]) -> None:
        """Needs that cannot be split: all rows of one are counted in one way."""
        first = rows[0]
        for row in rows[1:]:
            if (row.per, _step(row), set(row.by_modules)) != (
                *(first.per, _step(first)),
                set(first.by_modules),
            ):
                self.fault(row, f"the way of counting and the step of {first.where}")
        if need == "end the bus":
            self._ends(first, rows)
            return
        own = "per entry" if need in ENTRY_NEEDS else "per metre"
        if first.per == own:
            gives: dict[str, Value] = {row.code: row.number for row in rows}
            path: dict[str, Value] = {"per": "length", "every": METRE} if need in PATH_NEEDS else {}
            self.asked.update(self.cables if path else ())
            self._rule(first, "", {"way": "each", "gives": gives, **path}, need)
        elif first.per in TOTALS and self.cables:
            gives = {row.code: row.number for row in rows}
            keys: dict[str, Value] = {"way": "each", "gives": gives, "per": TOTALS[first.per]}
            self._rule(first, self.cables[0], keys, need)
            why = f"Counted for the whole job, with the {self.cables[0]}"
            for cable in self.cables[1:]:
                self._rule(first, cable, {"way": "built_in", "why": why})
        else:
            self.fault(first, f"one of {own}, {', '.join(TOTALS)}")

    def _ends(self, first: Row, rows: Sequence[Row]) -> None:
        stack = bool(first.by_modules) or first.per == "per stack"
        self.add("bus", {"name": "bus", "per": "stack" if stack else "system"})
        if first.by_modules:
            table_rows: list[Value] = [
                {"modules": n, "gives": {r.code: r.by_modules[n] for r in rows if r.by_modules[n]}}
                for n in first.by_modules
            ]
            if any(not row["gives"] for row in table_rows if isinstance(row, dict)):
                self.fault(first, "more than 0 of something for every number of modules")
                return
            self._rule(
                first, "", {"way": "table", "by": ["modules"], "rows": table_rows}, first.need
            )
        elif first.per in TOTALS:
            gives: dict[str, Value] = {row.code: row.number for row in rows}
            per: Value = 1 if stack else TOTALS[first.per]
            self._rule(first, "", {"way": "each", "gives": gives, "per": per}, first.need)
        else:
            self.fault(first, f"one of {', '.join(TOTALS)} or the columns of modules")

    def _nothing(self, row: Row) -> None:
        """A need that the sheet says is not wanted, with its reason."""
        keys: dict[str, Value] = {"name": f"no {row.need} {row.step}".strip(), "need": row.need}
        if NEEDS[row.need].per == "step":
            keys["of"] = [row.step] if row.step else self._open_steps(row.need)
            if not keys["of"]:
                return
        self.add("rule", {**keys, "way": "built_in", "why": row.name, "source": row.where})

    def _open_steps(self, need: str) -> list[Value]:
        """Steps that have neither tools (gear) of their own nor a reason for none."""
        named = {row.step for row in (*self.of_need[need], *self.refused) if row.need == need}
        used = {_step(other) for other in self.rows} | {"look"}
        return [key for key in ORDER if key in used - named]

    def _ways(self) -> None:
        """The three cables with their entries, the ways they take and the holes that stay free."""
        for need, cable in CABLES.items():
            length: Value = METRE
            if cable in self.asked:
                length = cable.replace(" ", "_")
                asked = f"How long is the way of the {cable} (mm)?"
                keys: dict[str, Value] = {"name": length, "question": asked, "kind": "length"}
                self.tables.insert(0, table("axis", {**keys, "min": 500, "max": LONGEST_RUN}))
            run: dict[str, Value] = {"name": cable, "need": need, "per": "system", "length": length}
            hole: dict[str, Value] = {"hole": "cables"} if cable in self.cables else {}
            self.add("run", {**run, **hole, "supported": bool(hole)})
            if self.of_need[need]:
                keys = {"name": f"the {cable}", "need": need, "of": cable, "way": "built_in"}
                self.add("rule", {**keys, "why": "Counted item by item"})
        if self.cables:
            count = len(self.cables)
            self.add("hole", {"name": "cables", "thread": "cable entry", "count": count})
        if not self.of_need["blank entry"]:
            keys = {"name": "free", "thread": "free entry", "count": "stacks"}
            self.add("hole", keys)


def _step(row: Row) -> str:
    return row.step or USUAL[row.need]


def _head(name: str, title: str, edition: dt.date, modules: tuple[int, int]) -> str:
    head = table("family", {"name": name, "title": title}, many=False)
    low, high = modules
    stacks = {"min": 1, "max": STACKS, "modules_min": low, "modules_max": high}
    joints = {"joint_with_base": True, "joint_with_head": True, "link_with_head": True}
    return "\n".join(
        [
            "# A trial, made from old job lists. Whatever no row meets is asked on each kit.",
            f'{head}edition = {edition.isoformat()}\nstatus = "trial"\narrangement = "tower"\n',
            table("stacks", stacks, many=False),
            table("topology", joints, many=False),
        ]
    )
