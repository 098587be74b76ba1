"""What people signed or changed by hand where a list did not say, as rules for its next edition."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from inventory.models import Item
from kitting import families, first_list, queries
from kitting.families import Loaded
from kitting.models import CheckSigned, FamilyEdition, Job
from kitting.plan.amending import BY_HAND, ByHand, amend
from kitting.plan.asking import question
from kitting.plan.proposing import Proposal, Signed, next_trial, nothing_taken, propose
from kitting.plan.toml_text import Value


@dataclass(frozen=True, slots=True)
class Offered:
    """One proposal of one family, with the kits it comes from."""

    edition: FamilyEdition  # the newest of the family: what the rule would be added to
    about: str  # the question, or the item and its step, in words
    proposal: Proposal
    kits: tuple[str, ...]  # codes of kits or jobs
    why: tuple[str, ...] = ()  # what people gave as their reasons

    @property
    def title(self) -> str:
        """What people call the stack system."""
        return families.title_of(self.edition)

    @property
    def key(self) -> str:
        """How the page's button names it."""
        return f"{self.edition.name}|{self.about}"

    @property
    def whole(self) -> str:
        """How the button for all signed needs of a list names it; empty for a change by hand.

        Each need stands alone. What hands changed is worked out anew once those are in the list.
        """
        return "" if self.proposal.need == BY_HAND else f"all of {self.edition.name}"


def offered() -> list[Offered]:
    """Return a proposal for each need that people signed for and no list meets yet, and for each
    line that hands changed on several jobs."""
    return [*_of_signatures(), *_of_hands()]


def _of_signatures() -> Iterator[Offered]:
    for name, needs in _signed().items():
        edition = newest(name)
        family = families.family_of(edition)
        for need, rows in needs.items():
            word, _, of = need.partition(": ")
            if family.rules_for(word, of):
                continue  # the newest edition says it by now
            kits = tuple(dict.fromkeys(row.kit.code for row in rows))
            why = tuple(dict.fromkeys(row.words for row in rows if row.words))
            yield Offered(edition, question(word, of), _rule(edition, need, rows), kits, why)


def _rule(edition: FamilyEdition, need: str, rows: list[CheckSigned]) -> Proposal:
    """The proposal that explains what was signed for one need."""
    family, taken = families.family_of(edition), [row for row in rows if row.item is not None]
    if not taken:
        return nothing_taken(family, edition.text, need, [row.words for row in rows])
    if len(taken) < len(rows):
        word, _, of = need.partition(": ")
        return Proposal(word, of, "", "Something was taken on some kits, nothing on others.")
    things = {row.item.code: _thing(row.item) for row in taken if row.item}
    observed = [
        Signed(row.kit.snapshot["configuration"], row.item.code, row.quantity)
        for row in taken
        if row.item
    ]
    return propose(family, edition.text, need, observed, things)


def _signed() -> dict[str, dict[str, list[CheckSigned]]]:
    """Family -> need -> what was signed, one row for each job: the latest counts."""
    rows = CheckSigned.objects.exclude(need="").select_related("kit__edition", "item")
    latest = {(row.kit.job_id, row.need): row for row in rows.order_by("pk")}
    found: dict[str, dict[str, list[CheckSigned]]] = defaultdict(lambda: defaultdict(list))
    for (_, need), row in sorted(latest.items()):
        found[row.kit.edition.name][need].append(row)
    return found


def _of_hands() -> Iterator[Offered]:
    for repeated in queries.repeated_hand_changes():
        edition, item = newest(repeated.family), repeated.item
        changes = list(_changes(repeated.jobs, item, repeated.step))
        key, family = (item.code, repeated.step), families.family_of(edition)
        proposal = amend(family, edition.text, key, changes, _thing(item)) if changes else None
        if proposal is not None:
            titles = {step.key: step.title for step in family.steps}
            about = f"{item.name} ({item.code}), {titles.get(repeated.step, repeated.step)}"
            yield Offered(edition, about, proposal, repeated.jobs, repeated.reasons)


def _changes(jobs: Iterable[str], item: Item, step: str) -> Iterator[ByHand]:
    """What a hand made of one line on each of these jobs."""
    for job in Job.objects.filter(code__in=list(jobs)).order_by("code"):
        snapshot = job.kit.snapshot if job.kit is not None else {}
        noted = [
            entry["now"]
            for entry in snapshot.get("by_hand", ())
            if (entry["item"], entry["step"]) == (item.code, step)
        ]
        if noted:
            yield ByHand(snapshot["configuration"], noted[-1])


def newest(name: str) -> FamilyEdition:
    """Return the edition of a family with the latest date, in use or not."""
    return FamilyEdition.objects.filter(name=name).order_by("-edition")[0]


def _thing(item: Item) -> dict[str, Value]:
    return {"name": item.name, "tracking": item.tracking, "unit": item.unit, "mass_g": item.mass_g}


def add(chosen: Iterable[Offered]) -> Loaded:
    """Store the next trial of a family with these proposals in it.

    All are of one family. Raises FamilyError, EditionError; then nothing is stored.
    """
    offers = [offer for offer in chosen if offer.proposal.text]
    base = offers[0].edition
    instead = {
        offer.proposal.replaces: offer.proposal.text for offer in offers if offer.proposal.replaces
    }
    more = _once(offer.proposal.text for offer in offers if not offer.proposal.replaces)
    text = next_trial(base.text, more, first_list.free_day(base.name), instead)
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
