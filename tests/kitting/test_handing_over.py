"""Whoever takes a job over signs on the screen; the sheet shows it with what stands there."""

from __future__ import annotations

import re

import pypdfium2.raw as pdfium
import pytest
from django.core.files.storage import default_storage

from inventory import photos
from inventory.models import Note, Photo, SentPhoto
from inventory.queries import latest_mark
from kitting import handing_over
from kitting.models import HandedOver, Kit
from kitting.printing import handover
from tests.kitting.test_unboxing import carry as carry_units
from tests.kitting.test_using import carry
from tests.kitting.yard import Yard, about, fresh
from tests.people import take_photo
from tests.printed import Sheet

NAME = "Ines Rowan"


def sign(yard: Yard, kit: Kit, seed: int = 1, name: str = NAME) -> Photo:
    """Somebody signs on Tariq's phone; what was drawn is returned."""
    person = yard.tariq.person
    drawn = take_photo(person, kit.subject, seed)
    note = Note.objects.create(text=name, person=person, subject=kit.subject)
    done = yard.tariq.scan("sign_over", photo=drawn.sha256, note=str(note.uid), **about(kit))
    assert done.verdict == "applied", done.sentence
    return drawn


def sheet_of(kit: Kit) -> Sheet:
    return Sheet(handover.pdf(fresh(kit), "A4"))


def pictures_on(sheet: Sheet) -> list[tuple[int, int]]:
    """Width and height in pixels of each picture printed."""
    image = pdfium.FPDF_PAGEOBJ_IMAGE
    return [
        one.get_px_size() for page in sheet.document for one in page.get_objects(filter=[image])
    ]


@pytest.mark.sqlite_only  # paper, the same from either database
def test_what_was_signed_stands_on_the_sheet_until_it_is_erased(yard: Yard, kit: Kit) -> None:
    """Name and drawing; erased, the day it was signed stands alone."""
    unsigned = pictures_on(sheet_of(kit))
    drawn = sign(yard, kit)
    told = sheet_of(kit)
    with_picture = pictures_on(told)
    Note.objects.all().delete()
    default_storage.delete(photos.path_of(drawn.sha256))
    lost = sheet_of(kit)
    Photo.objects.update(erased=True)
    erased = sheet_of(kit)

    assert re.search(rf"Signed on the screen \d+ \w+ \d{{4}} \d\d:\d\d: {NAME}", told.text)
    assert (unsigned, with_picture) == ([], [(96, 64)])
    assert pictures_on(lost) == pictures_on(erased) == []
    for sheet in (lost, erased):
        assert "name erased or not given" in sheet.text
        assert NAME not in sheet.text


def test_the_latest_signature_counts_and_one_undone_does_not(yard: Yard, kit: Kit) -> None:
    """Nothing drawn is stopped; each signature stays in the record."""
    empty = yard.tariq.scan("sign_over", **about(kit))
    assert (empty.verdict, empty.sentence) == ("stopped", "Let them sign in the box first.")
    assert handing_over.signed(kit) is None

    sign(yard, kit)
    second = sign(yard, kit, seed=2, name="Noor Hale")
    found = handing_over.signed(kit)
    assert found is not None
    assert (found.name, found.photo, found.before) == ("Noor Hale", second, yard.tariq.person)

    SentPhoto.objects.create(sha256="e" * 64, photo=second)  # by the name that the phone gave it
    done = yard.tariq.scan("sign_over", photo="e" * 64, **about(kit))
    kept = handing_over.signed(kit)
    assert kept is not None
    assert (kept.photo, kept.name) == (second, "")
    yard.tariq.scan("undo", reverses=done.id)
    yard.tariq.scan(
        "undo",
        reverses=str(HandedOver.objects.filter(event__reversed_by=None).latest("pk").event.uid),
    )
    left = handing_over.signed(kit)
    assert left is not None
    assert left.name == NAME
    assert HandedOver.objects.count() == 3


def test_a_crew_of_another_job_signs_nothing(yard: Yard, kit: Kit) -> None:
    """To them there is no such kit."""
    drawn = take_photo(yard.tariq.person, kit.subject, 1)
    kit.job.crew.set([])
    done = yard.tariq.scan("sign_over", photo=drawn.sha256, **about(kit))

    assert done.verdict == "refused"
    assert not HandedOver.objects.exists()


@pytest.mark.sqlite_only  # paper, the same from either database
def test_the_sheet_has_serials_by_place_parts_ohms_cautions_and_the_mark(
    yard: Yard, kit: Kit
) -> None:
    """Parts as they were used; what is left over or set aside is not built in."""
    carry_units(yard, kit, "S1")
    carry(yard, kit, CT_BOLT6=12)
    yard.tariq.scan("unbox", "S1", **about(kit))
    yard.tariq.scan("unbox", "CT-BOLT6", **about(kit))
    yard.tariq.scan("fit", "S1", position={"stack": 1, "level": 1}, **about(kit))
    told = {"quantity": 2, "photo": "c" * 64, "reason": "bent", **about(kit)}
    yard.tariq.scan("damaged", "CT-BOLT6", **told)
    yard.tariq.scan("use", **about(kit))
    yard.tariq.scan("measure_bus", kind="stack bus 1", number=60, **about(kit))
    sheet = sheet_of(kit)
    text = sheet.text

    assert re.search(r"What stands there.* 1 1 battery module S1", text)
    parts = text[text.index("Parts built in") : text.index("Ends of the data lines")]
    assert re.findall(r"(\d+) [^\d]*bolt", parts) == ["10"]
    assert "battery module" not in parts
    assert re.search(r"stack bus 1 60 ohm", text)
    cautions = text[text.index("Cautions") :]
    assert "The maker's manual comes first, then the local code." in cautions
    assert kit.snapshot["cautions"]
    for caution in kit.snapshot["cautions"]:
        assert caution["words"] in cautions
    root = str(latest_mark()["root"])
    tenth = 297 / 25.4 * 72 / 10  # points of A4's height
    for page in sheet.pages:
        (mark,) = [word for word in page if root in word.text]
        assert mark.high < tenth  # at the foot
        assert mark.high - mark.low < 9  # and small
