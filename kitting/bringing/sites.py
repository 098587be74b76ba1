"""Sites that a file names: one of ours by code or name, or a new one."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable

from inventory.bringing.kinds import Asked, Data
from inventory.codes.serials import look_up_key
from inventory.incoming.columns import Column
from inventory.incoming.errors import Wrong
from inventory.incoming.tables import Cell
from inventory.incoming.values import shown, text
from inventory.models import Event
from kitting import packing
from kitting.models import Site

COLUMNS = (
    Column("site", "name of the site, or our code of it", ("site name", "Baustelle"), True),
    Column("address", "of a new site, or to tell two of one name apart", ("Adresse",)),
)


class Sites:
    """All sites, asked once."""

    def __init__(self) -> None:
        """Read the sites."""
        self.by_code = {site.place.code: site for site in Site.objects.select_related("place")}
        self._by_name: dict[str, list[Site]] = defaultdict(list)
        for site in self.by_code.values():
            self._by_name[site.name.casefold()].append(site)

    def read(self, asked: Asked) -> Data:
        """Return "site", the code of one of ours or "", with "name" and "address" of a new one."""
        address = asked.read("address", lambda cell: text(cell, 300), "")
        name = asked.read("site", lambda cell: text(cell, 120, needed=True), "")
        found = asked.read("site", lambda cell: self._named(cell, name, address), None)
        if found is not None:
            return {"site": found.place.code, "name": "", "address": ""}
        return {"site": "", "name": name, "address": address}

    def _named(self, cell: Cell, name: str, address: str) -> Site | None:
        known = self.by_code.get(look_up_key(name)) if name else None
        if known is not None:
            return known
        alike = self._by_name.get(name.casefold(), [])
        if address:
            here = (site for site in alike if site.address.casefold() == address.casefold())
            bare = (site for site in alike if not site.address)
            return next(here, None) or next(bare, None)
        if len(alike) > 1:
            raise Wrong(f"expected its address too, as {len(alike)} bear this name: {shown(cell)}")
        return alike[0] if alike else None


def key_of(data: Data) -> str:
    """Return what tells the site of a row from others."""
    return str(data["site"] or f"{data['name'].casefold()}\n{data['address'].casefold()}")


def shown_as(data: Data) -> str:
    """Return how the preview names the site of a row."""
    return str(data["name"] or data["site"])


def opened(rows: Iterable[Data], event: Event) -> list[Site]:
    """Return the site of each row; one that nobody has entered is entered for this event."""
    known, made, found = Sites(), dict[str, Site](), []
    for row in rows:
        key = key_of(row)
        site = made.get(key) or known.by_code.get(row["site"])
        if site is None:
            alike = Site.objects.select_related("place").filter(
                name__iexact=row["name"], address__iexact=row["address"]
            )
            site = alike.first() or packing.open_site(row["name"], row["address"], brought_by=event)
        made[key] = site
        found.append(site)
    return found
