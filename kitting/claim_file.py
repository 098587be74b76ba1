"""A claim as one file to send: a ZIP of the sheet, what it needs and the chain as tables, photos.

The same record gives the same bytes. Photos are those of the claim and of the thing's own story,
stripped when they were stored; one that was erased, is not here or is not what was stored is named
with which of these it is, and left out.
"""

from __future__ import annotations

import hashlib
import io
import json
import zipfile

from inventory import photos
from inventory.claim_needs import entries
from inventory.ledger.line import parse
from inventory.links import Link
from inventory.models import Claim, ClaimStep
from inventory.tracing import Chain, chain
from inventory.workbooks import text_table
from kitting.printing import claim as sheet

EPOCH = (1980, 1, 1, 0, 0, 0)  # the earliest moment a ZIP can name: no clock tells in it


def packed(claim: Claim, size: str = "A4") -> bytes:
    """Return the claim as a ZIP. size: of the sheet, one of paper.SIZES."""
    story = chain(claim.unit.serial) if claim.unit is not None else None
    if story is not None and claim.unit is not None and not _is(story, claim):
        story = None  # two items bear one serial: which is meant cannot be told from its text
    pictures, left_out = _photos(claim, story)
    found = entries(claim)
    needs = [(e.key, e.words, e.value or _photo(e.photo), e.how or "missing") for e in found]
    files = {
        f"claim-{claim.code}.pdf": sheet.pdf(claim, story, size),
        "needs.csv": text_table([("key", "what", "known", "how"), *needs]),
        "missing.txt": "".join(f"{e.words}\n" for e in found if e.missing).encode(),
        "chain.csv": text_table(
            [COLUMNS, *(_row(link) for link in (story.links if story else ()))]
        ),
        "chain.json": _json(story),
        **pictures,
    }
    if left_out:
        told = "".join(f"{sha} {why}\n" for sha, why in sorted(left_out.items()))
        files["photos/left-out.txt"] = told.encode()
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as archive:
        for name in sorted(files):
            entry = zipfile.ZipInfo(name, EPOCH)
            entry.compress_type = zipfile.ZIP_DEFLATED
            entry.external_attr = 0o644 << 16
            archive.writestr(entry, files[name])
    return out.getvalue()


COLUMNS = ("number", "event", "step", "received_at", "who", "what", "from", "to", "photo", "undone")


def _row(link: Link) -> tuple[str, ...]:
    return (
        str(link.number),
        str(link.event),
        link.step,
        link.received_at.isoformat(),
        link.who,
        link.sentence,
        link.start,
        link.to,
        link.photo,
        "yes" if link.undone else "",
    )


def _is(story: Chain, claim: Claim) -> bool:
    return claim.unit is not None and story.kind == "unit" and story.name == str(claim.unit)


def _json(story: Chain | None) -> bytes:
    plain = story.as_json() if story is not None else {}
    text = json.dumps(plain, default=str, ensure_ascii=False, indent=1, sort_keys=True)
    return text.encode()


def _photo(sha256: str) -> str:
    return f"photos/{sha256}.jpg" if sha256 else ""


def _photos(claim: Claim, story: Chain | None) -> tuple[dict[str, bytes], dict[str, str]]:
    """Return name in the ZIP -> bytes, and of each photo that is left out why."""
    wanted = {link.photo for link in story.links if link.photo} if story else set()
    wanted |= {entry.photo for entry in entries(claim) if entry.photo}
    wanted |= {parse(claim.event.line).photo} - {""}
    steps = ClaimStep.objects.filter(claim=claim).exclude(photo="")
    wanted |= set(steps.values_list("photo", flat=True))
    kept: dict[str, bytes] = {}
    left_out = dict.fromkeys(wanted, "not here")
    for name, photo in photos.called(wanted).items():
        try:
            data = b"" if photo.erased else photos.bytes_of(photo)
        except FileNotFoundError:
            continue
        if hashlib.sha256(data).hexdigest() == photo.sha256:
            kept[_photo(name)] = data
            del left_out[name]
        else:
            left_out[name] = "erased" if photo.erased else "damaged"
    return kept, left_out
