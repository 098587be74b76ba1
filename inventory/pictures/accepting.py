"""Which hits count. A wrong read is far worse than none, so only what is already known counts.

Over 966 photos this rule alone brought the wrong reads to none; check digits and the agreement of
two decoders did not (measured, 24 Nov 2026).
"""

from collections.abc import Callable, Collection, Iterable
from dataclasses import dataclass

from inventory.pictures.hit import LINEAR, RETAIL, Hit, same_symbol

Known = Callable[[str, str], str | None]
"""(text, symbology) -> the known thing's normal form that the text is exactly, or None."""

SHORTEST_LINEAR = 3
"""Characters. A decoder reads one-letter line codes out of perforated sheets (measured): a shorter
text counts only where two decoders that share no code read it in the same place."""

GTIN_DIGITS = 14


@dataclass(frozen=True, slots=True)
class Code:
    """A text found in a photo, and whether it counts."""

    text: str  # as the symbol carries it
    symbology: str  # see inventory.pictures.hit.SYMBOLOGIES
    box: tuple[int, int, int, int]  # x, y, width, height in px of the upright picture
    accepted: bool
    why: str  # one sentence for people, never empty

    def as_json(self) -> dict[str, object]:
        """{"text", "symbology", "box": [x, y, width, height], "accepted", "why"}."""
        return {
            "text": self.text,
            "symbology": self.symbology,
            "box": list(self.box),
            "accepted": self.accepted,
            "why": self.why,
        }


def as_known(known: Known | Collection[str] | None) -> Known | None:
    """A set of texts as a question; None where nothing at all is known."""
    if known is None or callable(known):
        return known
    if not known:
        return None
    forms = {form for text in known for form in (text, _fourteen(text, "EAN13"))}
    return lambda text, symbology: next(
        (form for form in (text, _fourteen(text, symbology)) if form in forms), None
    )


def accept(hits: Iterable[Hit], known: Known | None) -> tuple[Code, ...]:
    """Each different text once, those that count first, else from top to bottom."""
    sightings: dict[tuple[str, str], list[Hit]] = {}
    for hit in hits:
        # One label read twice by two decoders, and a second label with the same text: one line,
        # because equal labels are merged by decoders and so cannot be counted from a photo.
        sightings.setdefault((_fourteen(hit.text, hit.symbology), _family(hit)), []).append(hit)
    verdicts = {seen[0]: _believed(seen, known) for seen in sightings.values()}
    believed = [hit for hit, (accepted, _) in verdicts.items() if accepted]
    for hit in believed:
        if any(_clash(hit, other) for other in believed):
            verdicts[hit] = False, "the same symbol was read as two known codes: scan it again"
    codes = [Code(h.text, h.symbology, h.box, *verdict) for h, verdict in verdicts.items()]
    return tuple(sorted(codes, key=lambda code: (not code.accepted, code.box[1], code.box[0])))


def _believed(seen: list[Hit], known: Known | None) -> tuple[bool, str]:
    """Whether sightings of one text count, and why. One that is not sure needs another step's."""
    accepted, why = judge(seen[0], known)
    if accepted and _short(seen[0]) and not _by_both(seen):
        return False, f"shorter than {SHORTEST_LINEAR} characters: lines of a surface can look so"
    if accepted and not any(hit.sure for hit in seen) and len({hit.step for hit in seen}) < 2:
        return False, f"{why}, but was read once and not surely: scan it again"
    return accepted, why


def judge(hit: Hit, known: Known | None) -> tuple[bool, str]:
    """Whether the hit counts by itself, and why."""
    if known is None:
        return False, "nothing is known to compare it with"
    form = known(hit.text, hit.symbology)
    if form is None:
        return False, "matches nothing that is known"
    # Decoders take the first 4 to 12 digits of an ITF code for the whole (419 of 445 wrong
    # reads): such a piece must not become a trade number by filling it up with noughts.
    if hit.symbology == "ITF" and len(hit.text) != GTIN_DIGITS and form != hit.text:
        return False, f"{len(hit.text)} digits of an ITF code can be a piece of a longer one"
    return True, f"is the known {form}"


def _short(hit: Hit) -> bool:
    return hit.symbology in LINEAR and len(hit.text) < SHORTEST_LINEAR


def _by_both(seen: list[Hit]) -> bool:
    """Whether two decoders (the first word of a step) read it in one place."""
    pairs = ((one, two) for one in seen for two in seen if one.decoder != two.decoder)
    return any(same_symbol(one, two) for one, two in pairs)


def _clash(hit: Hit, other: Hit) -> bool:
    if hit == other or (hit.symbology in LINEAR) != (other.symbology in LINEAR):
        return False
    one, two = _fourteen(hit.text, hit.symbology), _fourteen(other.text, other.symbology)
    return one != two and same_symbol(hit, other)


def _family(hit: Hit) -> str:
    """The symbology, with EAN-13 and UPC-A as one: the decoders differ in the name only."""
    return "EAN13" if hit.symbology in RETAIL else hit.symbology


def _fourteen(text: str, symbology: str) -> str:
    """EAN-13 and UPC-A as 14 digits (Source: GS1 General Specifications, GTIN); others as is."""
    retail = symbology in RETAIL and text.isascii() and text.isdigit() and len(text) in {12, 13, 14}
    return text.zfill(GTIN_DIGITS) if retail else text
