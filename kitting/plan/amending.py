"""A list amended by what hands changed on several jobs, where one change of its text explains it.

Tried with the engine itself, the smallest change first: another number in the rule that gives the
item, another row of its table, or a part with a rule of its own. It is proposed only if every job
comes out as the hand had it and nothing else changes but what the item itself brings.

Source: common practice, no published source.
"""

import re
import tomllib
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from kitting.plan import configuration, family, kit
from kitting.plan.errors import PlanError
from kitting.plan.family import Family
from kitting.plan.lines import Line
from kitting.plan.proposing import Proposal
from kitting.plan.toml_text import Value, table

BY_HAND: Final = "by hand"
"""What such a proposal has in place of a need."""
Key = tuple[str, str]
"""Item and step."""


@dataclass(frozen=True, slots=True)
class ByHand:
    """What a hand made of one line of one job."""

    configuration: Mapping[str, object]
    quantity: int
    """Base units there were in the end; 0 where the line was dropped."""


def amend(
    found: Family, text: str, key: Key, changes: Sequence[ByHand], thing: Mapping[str, Value]
) -> Proposal | None:
    """The proposal for one line of a family read from `text`; None where it says so already.

    thing: keys of the item's [[item]], for what the family does not list yet.
    """
    try:
        before = [_lines(found, change) for change in changes]
    except PlanError as error:
        words = f"The newest list does not take one of the jobs: {error}"
        return Proposal(BY_HAND, key[0], "", words)
    had = [lines[key].quantity if key in lines else 0 for lines in before]
    wanted = [change.quantity for change in changes]
    if had == wanted:
        return None
    tries = _Tries(found, text, key, changes, before)
    for words, old, new in (*tries.rules(wanted), *tries.parts(wanted, thing)):
        brought = tries.brings(text.replace(old, new, 1) if old else f"{text}\n{new}", wanted)
        if brought is not None:
            more = f". With it: {brought}" if brought else ""
            return Proposal(BY_HAND, key[0], new, f"{words}{more}", replaces=old)
    told = f"{_listed(had)} by the list, {_listed(wanted)} by hand"
    return Proposal(BY_HAND, key[0], "", f"No single change explains it: {told}.")


def _listed(numbers: Sequence[int]) -> str:
    return ", ".join(map(str, numbers))


def _lines(found: Family, change: ByHand) -> dict[Key, Line]:
    asked = configuration.parse(dict(change.configuration), found)
    return {(line.item, line.step): line for line in kit.work_out(found, asked).lines}


@dataclass(frozen=True, slots=True)
class _Tries:
    """Changes of the text that could explain what the hands did: (in words, old, new table)."""

    found: Family
    text: str
    key: Key
    changes: Sequence[ByHand]
    before: Sequence[Mapping[Key, Line]]

    def brings(self, text: str, wanted: Sequence[int]) -> str | None:
        """What changes on the first job besides, as the item brings it; None where the text does
        not explain every job, or where a need of the stack itself is met otherwise."""
        try:
            changed = family.parse(text, "proposal")
            after = [_lines(changed, change) for change in self.changes]
        except PlanError:
            return None
        for was, now, quantity in zip(self.before, after, wanted, strict=True):
            had = now[self.key].quantity if self.key in now else 0
            if had != quantity or self._own(was) != self._own(now):
                return None
        return self._besides(self.before[0], after[0])

    def _own(self, lines: Mapping[Key, Line]) -> dict[Key, int]:
        """What needs of the stack itself take of each other line."""
        own = {
            key: sum(reason.quantity for reason in line.reasons if not reason.by)
            for key, line in lines.items()
            if key != self.key
        }
        return {key: quantity for key, quantity in own.items() if quantity}

    def _besides(self, was: Mapping[Key, Line], now: Mapping[Key, Line]) -> str:
        """Other lines that change, as "+4 CT-BOLT8"."""
        changes = []
        for key in dict.fromkeys((*was, *now)):
            had, has = (lines[key].quantity if key in lines else 0 for lines in (was, now))
            if key != self.key and had != has:
                changes.append(f"{has - had:+d} {key[0]}")
        return ", ".join(changes)

    def rules(self, wanted: Sequence[int]) -> Iterator[tuple[str, str, str]]:
        """Each rule that gives the item at the step, with other numbers."""
        names = dict.fromkeys(
            reason.rule
            for lines in self.before
            if self.key in lines
            for reason in lines[self.key].reasons
        )
        for name in names:
            block = _block(self.text, name)
            if block:
                yield from self._number(name, block, wanted)
                yield from self._rows(name, block, wanted)

    def _number(
        self, name: str, block: str, wanted: Sequence[int]
    ) -> Iterator[tuple[str, str, str]]:
        """A rule that gives so many for each: another number, or the item left out."""
        item, lines = self.key[0], self.before[0]
        rule = tomllib.loads(block)["rule"][0]
        gives, share = rule.get("gives"), self._share(lines, name)
        if rule["way"] != "each" or not isinstance(gives, dict) or item not in gives or not share:
            return
        number, rest = divmod((wanted[0] - lines[self.key].quantity + share) * gives[item], share)
        if rest or number < 0 or number == gives[item]:
            return
        if number:
            yield (
                f"{name} gives {number} instead of {gives[item]}",
                block,
                re.sub(_given(item, gives[item]), rf"\g<1>{number}", block, count=1),
            )
        elif len(gives) > 1:
            bare = re.sub(
                rf'(?:"?{re.escape(item)}"? = \d+, |, "?{re.escape(item)}"? = \d+)', "", block
            )
            yield f"{name} gives no {item} any more", block, bare
        else:
            kept = {key: rule[key] for key in ("name", "need", "of", "step", "when") if key in rule}
            why = {"way": "built_in", "why": "Taken off the list by hand each time"}
            yield f"{name} takes nothing any more", block, table("rule", {**kept, **why})

    def _share(self, lines: Mapping[Key, Line], name: str) -> int:
        """Base units that a rule gives of the line."""
        reasons = lines[self.key].reasons if self.key in lines else ()
        return sum(reason.quantity for reason in reasons if reason.rule == name)

    def _rows(self, name: str, block: str, wanted: Sequence[int]) -> Iterator[tuple[str, str, str]]:
        """A table by modules: the rows of the stacks that hands changed."""
        rule = tomllib.loads(block)["rule"][0]
        if rule["way"] != "table" or rule.get("by") != ["modules"]:
            return
        new, told = block, []
        for change, lines, quantity in zip(self.changes, self.before, wanted, strict=True):
            stacks = change.configuration.get("stacks")
            if not isinstance(stacks, list) or len(stacks) != 1 or self.key not in lines:
                return
            height, share = stacks[0]["modules"], self._share(lines, name)
            number = quantity - lines[self.key].quantity + share
            row = rf"(modules = {height}\b[^\n]*?\"?{re.escape(self.key[0])}\"? = ){share}\b"
            if number < 1:
                return
            if re.search(row, block):
                new = re.sub(row, rf"\g<1>{number}", new, count=1)
                told.append(f"{number} for {height} modules")
        if told:
            yield f"{name} gives {', '.join(dict.fromkeys(told))}", block, new

    def parts(
        self, wanted: Sequence[int], thing: Mapping[str, Value]
    ) -> Iterator[tuple[str, str, str]]:
        """A part of its own under a need of the step, counted for the job, stack or module."""
        item, step = self.key
        more = [
            quantity - (lines[self.key].quantity if self.key in lines else 0)
            for quantity, lines in zip(wanted, self.before, strict=True)
        ]
        of = f"by hand: {item}"
        if min(more) < 1 or any(part.of == of for part in self.found.parts):
            return
        head = "" if item in self.found.items else table("item", {"code": item, **thing}) + "\n"
        split = {part.need for part in self.found.parts}
        here = [rule.need for rule in self.found.rules if rule.step == step and rule.need in split]
        for need in dict.fromkeys(here):
            part = table("part", {"need": need, "of": of, "per": "system"})
            for words, per, counts in self._totals():
                k, rest = divmod(more[0], counts[0])
                if rest or [k * count for count in counts] != more:
                    continue
                rule: dict[str, Value] = {"name": of, "need": need, "of": of, "step": step}
                rule |= {"source": "added by hand", "way": "each", "gives": {item: k}, "per": per}
                yield f"{k} for each {words}", "", f"{head}{part}\n{table('rule', rule)}"

    def _totals(self) -> Iterator[tuple[str, Value, list[int]]]:
        """What a job has of something: (in words, as a figure of the format, of each job)."""
        sites = [
            [stack["modules"] for stack in change.configuration["stacks"]]  # type: ignore[attr-defined]
            for change in self.changes
        ]
        yield "job", 1, [1] * len(sites)
        yield "stack", "stacks", [len(modules) for modules in sites]
        yield "module", "total_modules", [sum(modules) for modules in sites]


def _block(text: str, name: str) -> str:
    """The [[rule]] of this name as it stands in the text; empty where none does."""
    start = re.search(rf'^\[\[rule\]\]\nname = "{re.escape(name)}"$', text, re.M)
    if start is None:
        return ""
    end = re.compile(r"^(?:\[|#)", re.M).search(text, start.end())
    return text[start.start() : end.start() if end else len(text)]


def _given(item: str, number: int) -> str:
    return rf'("?{re.escape(item)}"? = ){number}\b'
