"""The labels page gives out what a decoder reads, and names what it cannot draw."""

from typing import Any

import pypdfium2
import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse

from tests.people import Cast


@pytest.fixture
def wanda(db: None, cast: Cast) -> Client:
    return cast.clients["warehouse"]


def test_labels_come_as_a_sheet(wanda: Client) -> None:
    """Two places on one A4 page."""
    data = {"codes": "VAN1\nBIN1", "form": "pdf", "dpi": "203", "skip": "0"}
    answer = wanda.post(reverse("labels"), data)
    page = pypdfium2.PdfDocument(answer.content)[0]
    text = page.get_textpage().get_text_range()

    assert "Van 1" in text
    assert "Bin 1" in text


def test_a_label_is_read_back_from_a_photo_of_it(wanda: Client, cast: Cast) -> None:
    """PNG out, photo in: the page says that the code counts."""
    data = {"codes": "VAN1", "form": "png", "dpi": "300", "skip": "0"}
    picture = wanda.post(reverse("labels"), data).content
    photo = SimpleUploadedFile("van.png", picture, "image/png")
    told = wanda.post(reverse("photo"), {"photo": photo}).content.decode()

    assert "VAN1" in told
    assert "</svg>\n counts" in told


def test_a_code_that_is_not_known_gets_no_label(wanda: Client) -> None:
    """It is named."""
    data = {"codes": "VAN1\nNO-SUCH", "form": "pdf", "dpi": "203", "skip": "0"}
    told = wanda.post(reverse("labels"), data).content.decode()

    assert "NO-SUCH: expected a code that is known here, got unknown" in told


def test_a_kits_labels_say_no_job(wanda: Client, cast: Cast, settings: Any) -> None:
    """Whoever scans a bag learns nothing of whose it is; the sheet is of the office's paper."""
    work, settings.PAPER = cast.works["technician"], "Letter"
    answer = wanda.get(reverse("kit_labels", args=[work.kit.code]))
    page = pypdfium2.PdfDocument(answer.content)[0]
    text = page.get_textpage().get_text_range()

    assert page.get_size() == pytest.approx((612, 792), abs=0.4)  # points: 8.5 x 11 inch

    assert "Bag 1" in text
    assert work.job.code not in text


def test_a_text_named_jpg_is_refused_in_words(wanda: Client) -> None:
    """What was expected and what came."""
    photo = SimpleUploadedFile("note.jpg", b"only some words", "image/jpeg")
    told = wanda.post(reverse("photo"), {"photo": photo}).content.decode()

    assert "expected a JPEG, PNG or WebP picture, got plain text" in told
