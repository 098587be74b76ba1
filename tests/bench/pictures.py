"""`make bench-pictures`: how many photographs and drawn codes are read, how soon, by which step.

Writes its figures between the pictures marks of DEVELOPERS.md. Steps were chosen over the
photographs whose hash is even and over drawn codes of other seeds; the odd half is only reported.
`known` is every true text and a near miss of each, so a wrong read has something to hit.
"""

import sys
import time
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Final

import cv2
import numpy as np

from inventory.pictures import decoding, preparing
from inventory.pictures.accepting import Known, accept, as_known
from inventory.pictures.hit import Hit
from inventory.pictures.photo import check_file
from tests.bench import marks
from tests.pictures.listed_chain import listed_chain
from tests.pictures.photographs import form, photographs
from tests.pictures.singles import near, single

DRAWN: Final = range(20_000, 20_500)
"""Seeds of the drawn codes; those of the choosing were below 10,000."""


@dataclass(frozen=True, slots=True, eq=False)
class Looked:
    """One picture: what each step read in it, and what that cost."""

    text: str  # empty where there is no code
    symbology: str
    odd: bool
    hits: dict[str, list[Hit]]  # by step
    spent: dict[str, float]  # CPU seconds, by step
    listed: set[str]  # what the listed chain accepted, in one form
    listed_spent: float


@dataclass(frozen=True, slots=True)
class Outcome:
    """What a chain made of one picture."""

    right: bool
    wrong: bool
    spent: float  # CPU seconds
    by: str  # the step that gave it, or empty


def main() -> int:
    """Measure all and write the figures; 1 and the reason where there are no photographs."""
    if not photographs():
        print("expected the photographs in ../shared/reference/pictures, got none", file=sys.stderr)
        return 1
    cv2.setNumThreads(1)
    texts = {each.text: each.symbology for each in photographs() if each.text}
    drawings = [single(seed) for seed in DRAWN]
    texts |= {each.text: each.symbology for each in drawings}
    all_known = set(texts) | {near(*text) for text in texts.items()}
    catalogue = {text.zfill(14) for text in all_known if text.isdigit()}
    photos = [
        _look(check_file(each.data()).grey(), each.text, each.symbology, not each.even, catalogue)
        for each in photographs()
    ]
    drawn = [_look(each.grey, each.text, each.symbology, True, catalogue) for each in drawings]
    known = as_known(all_known)
    figures = _figures(photos, drawn, known)
    marks.write("pictures", figures, table=_ablation(photos, drawn, known))
    return 0


def _look(
    grey: preparing.Grey, text: str, symbology: str, odd: bool, catalogue: set[str]
) -> Looked:
    small = preparing.shrunk(grey, decoding.ONE_LABEL_PIXELS).pixels
    hits, spent = {}, {}
    for step in decoding.ONE_LABEL:
        begun = time.thread_time()
        hits[step.name] = decoding.looked(step, small)
        spent[step.name] = time.thread_time() - begun
    listed, listed_spent = listed_chain(grey, catalogue)
    forms = {form(*each) for each in listed}
    return Looked(text, symbology, odd, hits, spent, forms, listed_spent)


def _run(picture: Looked, names: Iterable[str], known: Known | None) -> Outcome:
    """The chain of these steps over what was recorded."""
    hits: list[Hit] = []
    spent = 0.0
    truth = form(picture.text, picture.symbology)
    for name in names:
        hits += picture.hits[name]
        spent += picture.spent[name]
        if not picture.hits[name]:
            continue
        taken = {form(c.text, c.symbology) for c in accept(hits, known) if c.accepted}
        if taken:
            return Outcome(truth in taken, bool(taken - {truth}), spent, name)
    return Outcome(False, False, spent, "")


def _listed(picture: Looked) -> Outcome:
    truth = form(picture.text, picture.symbology)
    wrong = bool(picture.listed - {truth})
    return Outcome(truth in picture.listed, wrong, picture.listed_spent, "")


def _figures(photos: Sequence[Looked], drawn: Sequence[Looked], known: Known | None) -> list[str]:
    names = [step.name for step in decoding.ONE_LABEL]
    sets = {
        "Odd half of the photographs": [each for each in photos if each.odd],
        "Even half, over which steps were chosen": [each for each in photos if not each.odd],
        "All photographs": list(photos),
        "Drawn hard codes": list(drawn),
    }
    lines = []
    for title, pictures in sets.items():
        ours, theirs = (
            [run(each) for each in pictures] for run in (lambda p: _run(p, names, known), _listed)
        )
        lines.append(
            f"- {title}: {_told(pictures, ours)}. Listed chain: {_told(pictures, theirs)}."
        )
    anything: Known = form
    strict = [_run(each, names, anything) for each in photos]
    wrong = sum(each.wrong for each in strict)
    unguarded = (
        f"- Were every text known that any step reads, {wrong} of {len(photos)} photographs would "
        "give a wrong one: what the evidence of the decoders alone lets through."
    )
    return [*lines, unguarded]


def _told(pictures: Sequence[Looked], outcomes: Sequence[Outcome]) -> str:
    """Read of how many, by symbology, wrong, and the CPU time."""
    kinds: dict[str, list[bool]] = {}
    for picture, outcome in zip(pictures, outcomes, strict=True):
        if picture.text:
            kinds.setdefault(picture.symbology, []).append(outcome.right)
    right, coded = sum(map(sum, kinds.values())), sum(map(len, kinds.values()))
    spent = np.array([outcome.spent for outcome in outcomes]) * 1000
    by_kind = ", ".join(f"{kind} {sum(found)}/{len(found)}" for kind, found in kinds.items())
    return (
        f"{right}/{coded} read ({right / coded:.1%}; {by_kind}), "
        f"{sum(outcome.wrong for outcome in outcomes)} wrong accepted of {len(outcomes)}, "
        f"CPU ms median {np.median(spent):.1f}, mean {spent.mean():.1f}, "
        f"p95 {np.percentile(spent, 95):.1f}"
    )


def _ablation(photos: Sequence[Looked], drawn: Sequence[Looked], known: Known | None) -> list[str]:
    """A row a step: what it adds and costs, and what the chain is without it."""
    names = [step.name for step in decoding.ONE_LABEL]
    head = (
        "| step | first to read: photographs, drawn | its CPU ms: photographs, drawn "
        "| the chain without it: read, read | mean CPU ms |"
    )
    rows = [head, "|---|---|---|---|---|"]
    for name in ("", *names):
        without = [each for each in names if each != name]
        runs = [[_run(each, without, known) for each in of] for of in (photos, drawn)]
        read = ", ".join(str(sum(each.right for each in run)) for run in runs)
        cost = ", ".join(f"{1000 * np.mean([each.spent for each in run]):.1f}" for run in runs)
        firsts, own = "", ""
        if name:
            whole = [[_run(each, names, known) for each in of] for of in (photos, drawn)]
            firsts = ", ".join(str(sum(each.by == name for each in run)) for run in whole)
            own = ", ".join(
                f"{1000 * np.mean([each.spent[name] for each in of]):.1f}" for of in (photos, drawn)
            )
        rows.append(f"| {name or 'nothing taken away'} | {firsts} | {own} | {read} | {cost} |")
    return rows


if __name__ == "__main__":
    sys.exit(main())
