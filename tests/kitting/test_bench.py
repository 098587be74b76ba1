"""Figures at the bench: each form says what the figure says, with source and who decides."""

from __future__ import annotations

import re

import pytest
from django.test import Client
from django.urls import reverse

from kitting.bench_forms import FORMS
from kitting.plan.figure import named
from tests.kitting.yard import Yard

DROP = {"kind": "dc", "nominal_v": "51.2", "current_a": "63", "length_m_one_way": "8"}
DROP |= {"area": "16", "stranding": "5", "warmth": "20"}
BEAD = {"shape": "tri", "w_mm": "8", "d_mm": "8", "length_m": "12", "pack_ml": "310", "waste": "10"}
LIFT = {"L_kg": "12", "H_cm": "25", "V_cm": "55", "D_cm": "95", "A_deg": "0", "F": "3"}
LIFT |= {"dur": "<=1h", "C": "fair"}
SCREW = {"thread": "M8", "metal": "8.8", "friction": "0.12"}
# Form, what is asked, what must be read: the published check values of tests/reference.
ASKED = [
    ("drop", DROP, "1.22 V are lost, 2.38 %"),
    ("gland", {"cable_od_mm": "7.0"}, "M16 (usually 4.5 to 10 mm), M20"),
    ("gland", {"cable_od_mm": "150"}, "No usual gland holds it"),
    ("torque", SCREW, "24.6 Nm at most"),
    ("sealant", BEAD, "2 to open for 422 ml"),
    (
        "sealant",
        BEAD | {"shape": "round", "w_mm": "5", "length_m": "30", "waste": "15"},
        "3 to open",
    ),
    ("team", {"each": "25, 16"}, "27.3 kg for all of them"),
    ("lift", LIFT, "Lifting index 0.77: the method recommends 15.7 kg"),
    ("lift", LIFT | {"L_kg": "30"}, "a lifting aid is asked"),
    ("lift", LIFT | {"H_cm": "70"}, "recommends no weight at all"),
]
WRONG = [
    ("drop", DROP | {"current_a": ""}, "Amperes: expected a number, got nothing"),
    ("gland", {"cable_od_mm": "wide"}, "expected a number, got &#x27;wide&#x27;"),
    ("gland", {"cable_od_mm": "nan"}, "expected a number, got &#x27;nan&#x27;"),
    ("torque", SCREW | {"thread": "M7"}, "Thread: expected one of the list, got &#x27;M7&#x27;"),
    ("sealant", BEAD | {"d_mm": ""}, "expected a number, got nothing"),
    ("team", {"each": "25, 25, 25, 25"}, "expected one to three numbers as 25, 25"),
    (
        "lift",
        LIFT | {"A_deg": "-3"},
        "Body turned (degrees): expected at least 0, got &#x27;-3&#x27;",
    ),
]


@pytest.fixture
def technician(yard: Yard) -> Client:
    client = Client()
    client.force_login(yard.tariq.person)
    return client


def ask(client: Client, key: str, given: dict[str, str]) -> str:
    return client.get(reverse("bench"), {"ask": key, **given}).content.decode()


def test_each_form_answers_and_refuses_in_words(technician: Client) -> None:
    """The published values come out, with source, edition and who decides; wrong ones are named."""
    for key, given, words in ASKED:
        html = ask(technician, key, given)
        assert words in html, (key, given)
        assert html.count("Who decides:") == html.count("Edition:") == 1
        assert not re.search(r"\bsafe\b", html, re.I)
    for key, given, words in WRONG:
        html = ask(technician, key, given)
        assert words in html, (key, given)
        assert "Who decides:" not in html


def test_the_page_without_a_question_has_every_form(technician: Client) -> None:
    """Nothing is answered, nothing is wrong, and a strange question is none."""
    for html in (ask(technician, "", {}), ask(technician, "other", {"x": "1"})):
        assert html.count("Work it out") == len(FORMS) == 6
        assert "Who decides:" not in html
        assert "errors" not in html


def test_every_form_asks_a_figure_that_is_there() -> None:
    """Figure and key of each form."""
    assert all(named(form.figure) for form in FORMS)
    assert len({form.key for form in FORMS}) == len(FORMS)
