"""What people signed where a list did not say, as rules for its next edition."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass

from inventory.models import Item
from kitting import families, first_list
from kitting.families import Loaded
from kitting.models import CheckSigned, FamilyEdition
from kitting.plan.proposing import Proposal, Signed, next_trial, propose
from kitting.plan.toml_text import Value


@dataclass(frozen=True, slots=True)
class Offered:
    """One proposal of one family, with the kits it comes from."""

    edition: FamilyEdition  # the newest of the family: what the rule would be added to
    proposal: Proposal
    kits: tuple[str, ...]  # codes

    @property
    def key(self) -> str:
        """How the page's button names it."""
        return f"{self.edition.name}|{self.proposal.need}|{self.proposal.of}"


def offered() -> list[Offered]:
    """Return a proposal for each need that people signed with an item and no list meets yet."""
    found = []
    for name, rows in _signed().items():
        edition = newest(name)
        family = families.family_of(edition)
        for need, signed in rows.items():
            word, _, of = need.partition(": ")
            if family.rules_for(word, of):
                continue  # the newest edition says it by now
            things = {row.item.code: _thing(row.item) for row in signed if row.item}
            observed = [
                Signed(row.kit.snapshot["configuration"], row.item.code, row.quantity)
                for row in signed
                if row.item
            ]
            proposal = propose(family, edition.text, need, observed, things)
            kits = tuple(dict.fromkeys(row.kit.code for row in signed))
            found.append(Offered(edition, proposal, kits))
    return found


def _signed() -> dict[str, dict[str, list[CheckSigned]]]:
    """Family -> need -> what was signed, one row for each job: the latest counts."""
    rows = CheckSigned.objects.exclude(need="").select_related("kit__edition", "item")
    latest = {(row.kit.job_id, row.need): row for row in rows.order_by("pk")}
    found: dict[str, dict[str, list[CheckSigned]]] = defaultdict(lambda: defaultdict(list))
    for (_, need), row in sorted(latest.items()):
        if row.item is not None:
            found[row.kit.edition.name][need].append(row)
    return found


def newest(name: str) -> FamilyEdition:
    """Return the edition of a family with the latest date, in use or not."""
    return FamilyEdition.objects.filter(name=name).order_by("-edition")[0]


def _thing(item: Item) -> dict[str, Value]:
    return {"name": item.name, "tracking": item.tracking, "unit": item.unit, "mass_g": item.mass_g}


def add(chosen: Iterable[Offered]) -> Loaded:
    """Store the next trial of a family with these proposals in it.

    All are of one family. Raises FamilyError, EditionError; then nothing is stored.
    """
    offers = list(chosen)
    base = offers[0].edition
    more = [offer.proposal.text for offer in offers if offer.proposal.text]
    text = next_trial(base.text, _once(more), first_list.free_day(base.name))
    return families.admit(text, f"next trial of {base.name}")


def _once(texts: Iterable[str]) -> list[str]:
    """Two rules may bring the same new item: its table stands once."""
    seen: set[str] = set()
    kept = []
    for text in texts:
        tables = [part for part in text.split("\n\n") if part not in seen]
        seen.update(part for part in tables if part.startswith("[[item]]"))
        kept.append("\n\n".join(tables))
    return kept
