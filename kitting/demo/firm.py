"""The invented firm of the demo as values, read from fixtures/demo."""

from __future__ import annotations

import csv
import tomllib
from dataclasses import dataclass, replace
from datetime import date, timedelta
from pathlib import Path
from typing import Any

FOLDER = Path(__file__).resolve().parents[2] / "fixtures" / "demo"
TUESDAY = 1  # as Python counts days of the week
DELIVERY = "delivery"  # place of units that the supplier brings during the walk


@dataclass(frozen=True, slots=True)
class Member:
    """Somebody who works there."""

    username: str
    name: str
    roles: tuple[str, ...]
    password: str  # of an invented person, printed by the walk


@dataclass(frozen=True, slots=True)
class Printed:
    """The article number on an item and how many base units one scan of it stands for."""

    item: str
    gtin: str  # 14 digits
    pack: int


@dataclass(frozen=True, slots=True)
class Stock:
    """So much of an item lies in a bin or on a van on the first day."""

    place: str  # name of a bin or van
    item: str
    quantity: int  # base units; 0: counted and none found
    batch: str  # "" unless the item is followed by batch
    expires: str  # ISO date or ""


@dataclass(frozen=True, slots=True)
class Serial:
    """One thing with a serial."""

    place: str  # name of a bin or van, or DELIVERY
    item: str
    serial: str


@dataclass(frozen=True, slots=True)
class Built:
    """What the firm built before it had this program."""

    name: str
    address: str
    date: date
    van: str
    crew: tuple[str, ...]
    units: tuple[tuple[str, str, int], ...]  # item, serial, number on screen; from below
    configuration: dict[str, Any]


@dataclass(frozen=True, slots=True)
class Planned:
    """One job of the week, answered as a person types on the planning page."""

    key: str
    title: str
    site: str
    address: str  # "" where the site is known already
    date: date
    leaves_at: str
    van: str
    crew: tuple[str, ...]
    family: str
    job: str
    stacks: str
    before: str
    answers: dict[str, str]


@dataclass(frozen=True, slots=True)
class Firm:
    """Everything there is on the first day, and what the week should bring."""

    name: str
    town: str
    seed: int
    members: tuple[Member, ...]
    depot: str
    dock: str
    bins: tuple[str, ...]  # in walking order
    vans: tuple[str, ...]
    codes: tuple[Printed, ...]
    stock: tuple[Stock, ...]
    units: tuple[Serial, ...]
    built: tuple[Built, ...]
    jobs: tuple[Planned, ...]

    @property
    def monday(self) -> date:
        """The first day of the week that is acted out."""
        return min(job.date for job in self.jobs)

    def member(self, username: str) -> Member:
        """Return somebody by the name they sign in with."""
        return next(member for member in self.members if member.username == username)


def read(folder: Path = FOLDER) -> Firm:
    """Read the firm's files."""
    data = tomllib.loads((folder / "firm.toml").read_text(encoding="utf-8"))
    depot = data["depot"]
    return Firm(
        name=data["name"],
        town=data["town"],
        seed=data["seed"],
        members=tuple(
            Member(p["username"], p["name"], tuple(p["roles"]), p["password"])
            for p in data["person"]
        ),
        depot=depot["name"],
        dock=depot["dock"],
        bins=tuple(depot["bins"]),
        vans=tuple(depot["vans"]),
        codes=tuple(
            Printed(row["item"], row["gtin"], int(row["pack"]))
            for row in _rows(folder / "codes.csv")
        ),
        stock=tuple(
            Stock(**{**row, "quantity": int(row["quantity"])})  # type: ignore[arg-type]
            for row in _rows(folder / "stock.csv")
        ),
        units=tuple(
            Serial(row["place"], row["item"], row["serial"]) for row in _rows(folder / "units.csv")
        ),
        built=tuple(_built(entry) for entry in data["built"]),
        jobs=tuple(_planned(entry) for entry in data["job"]),
    )


def week_for(day: date) -> date:
    """Return the Monday of the week to act out on a day: its Tuesday morning is the last that
    happens, so what is open then must not lie in the past."""
    monday = day - timedelta(days=day.weekday())
    return monday if day.weekday() <= TUESDAY else monday + timedelta(days=7)


def later(firm: Firm, by: timedelta) -> Firm:
    """Return the same firm with all its days so much later."""
    stock = [replace(s, expires=_later(s.expires, by)) for s in firm.stock]
    return replace(
        firm,
        stock=tuple(stock),
        built=tuple(replace(one, date=one.date + by) for one in firm.built),
        jobs=tuple(replace(one, date=one.date + by) for one in firm.jobs),
    )


def _later(day: str, by: timedelta) -> str:
    return (date.fromisoformat(day) + by).isoformat() if day else ""


def _rows(file: Path) -> list[dict[str, str]]:
    with file.open(encoding="utf-8", newline="") as lines:
        return list(csv.DictReader(lines))


def _built(entry: dict[str, Any]) -> Built:
    units = tuple((u["item"], u["serial"], u["number"]) for u in entry["units"])
    return Built(**{**entry, "units": units, "crew": tuple(entry["crew"])})


def _planned(entry: dict[str, Any]) -> Planned:
    whole = {"address": "", "before": "", **entry}
    return Planned(**{**whole, "crew": tuple(entry["crew"])})
