"""Forms enter what they say, and name the field, what was expected and what came."""

from datetime import date

import pytest
from django.test import Client
from django.urls import reverse

from inventory.models import Amendment, Item, ItemCode, Person, Place
from inventory.scanning import resolve
from kitting.models import Job
from tests.people import Cast, page_of

JOB = {
    "site_name": "Rowan House",
    "address": "5 Rowan Lane, Testham",
    "date": "2026-11-27",
    "leaves_at": "06:40",
    "family": "tower",
    "job": "new",
    "stacks": "2",
    "about_mount": "floor",
    "about_wall": "solid",
    "about_covering": "10",
    "about_place": "indoor",
    "about_restraint": "none",
    "about_head_rev": "A",
    "about_entry_side": "left",
    "about_ac_way": "clipped",
    "about_ac_run": "4200",
    "about_ac_od": "12,5",
    "about_data_run": "3000",
    "about_data_od": "6",
    "about_earth_run": "2000",
}


@pytest.fixture
def mona(db: None, cast: Cast) -> Client:
    return cast.clients["manager"]


def words(client: Client, name: str, data: dict[str, object], *args: str) -> str:
    """The page that a wrong form comes back as."""
    answer = client.post(reverse(name, args=args), data)

    assert answer.status_code == 200
    return answer.content.decode().replace("&#x27;", "'")


def test_an_item_and_its_code_are_entered(mona: Client) -> None:
    """The code is kept as printed and in its normal form."""
    data = {"code": "XX-1", "name": "test strip", "tracking": "count", "unit": "piece"}
    mona.post(reverse("item_new"), {**data, "mass_g": "12"})
    code = {"text": "9521234000044", "pack_quantity": "50", "add_code": "yes"}
    answer = mona.post(reverse("item_change", args=["XX-1"]), code)

    assert answer.status_code == 302
    assert Item.objects.get(code="XX-1").mass_g == 12
    assert ItemCode.objects.get(item__code="XX-1").key == "09521234000044"


def test_a_wrong_item_is_told_field_by_field(mona: Client) -> None:
    """Every fault at once, each with what was expected and what came."""
    data = {"code": "CT-MODULE", "tracking": "serial", "unit": "mm", "mass_g": "heavy"}
    told = words(mona, "item_new", data)

    assert "Code: expected one that is not taken, got 'CT-MODULE'" in told
    assert "Name: expected some text, got nothing" in told
    assert "Weight in grams: expected a whole number, got 'heavy'" in told
    assert "Counted in: expected pieces for a thing with a serial" in told


def test_a_code_means_one_item(mona: Client) -> None:
    """A code that is taken is refused, whatever zeros stand before it."""
    taken = ItemCode.objects.filter(label_pattern=False).first()
    assert taken
    told = words(
        mona,
        "item_change",
        {"text": taken.text, "pack_quantity": "1", "add_code": "yes"},
        "CT-BRACKET",
    )

    assert f"Code: expected one that is not taken, got '{taken.text}'" in told


def test_a_maker_s_label_is_tried_added_and_dropped(mona: Client) -> None:
    """What is read of one as printed is told; a web address is read like any text; who is noted."""
    page = reverse("item_change", args=["CT-MODULE"])
    address = "https://example.com/unit/"
    label = {"pattern": f"{address}{{serial:d6}}", "symbology": "QR", "add_label": "yes"}
    wrong = words(mona, "item_change", {**label, "example": "https://example.com/1"}, "CT-MODULE")
    answer = mona.post(page, {**label, "example": f"{address}004711"}, follow=True)

    assert f"Expected a text that follows {label['pattern']}" in wrong
    assert "is read: serial 004711." in answer.content.decode()
    assert resolve(f"{address}000001").serial == "000001"
    assert "that of CT-MODULE" in words(
        mona, "item_change", {**label, "example": f"{address}004711"}, "CT-MODULE"
    )
    mona.post(page, {"drop_label": label["pattern"]})
    assert resolve(f"{address}000001").kind == "unknown"
    assert Amendment.objects.get(about__contains=address).by.username == "mona"


def test_a_van_gets_a_label_of_ours(mona: Client) -> None:
    """Its code is given, with a check character."""
    mona.post(reverse("places"), {"kind": "van", "name": "Van 9", "order": ""})

    assert Place.objects.get(name="Van 9").code.startswith("LBV")


def test_a_time_zone_is_one_of_the_world(mona: Client) -> None:
    """A zone nobody keeps is named."""
    told = words(mona, "places", {"kind": "depot", "name": "D", "time_zone": "Mars/Base"})

    assert "Time zone: expected one as Europe/Berlin, got 'Mars/Base'" in told


def test_a_person_is_entered_and_leaves(mona: Client) -> None:
    """They can sign in until they have left; the entry stays."""
    secret = "orchard-lantern-bracket"
    data = {"username": "tilda", "name": "Tilda", "roles": ["technician"], "password": secret}
    mona.post(reverse("people"), data)
    fresh = Client()

    assert fresh.login(username="tilda", password=secret)

    mona.post(page_of("person_change", "tilda"), {"name": "Tilda"})

    assert not Client().login(username="tilda", password=secret)
    assert Person.objects.get(username="tilda").roles == []


def test_whatever_somebody_signs_in_as_has_its_page(mona: Client) -> None:
    """Django's own command takes an e-mail as a name; no address of ours holds it."""
    Person.objects.create_superuser("o'hara@firm.example", "orchard-lantern-bracket", name="O'Hara")
    page = page_of("person_change", "o'hara@firm.example")

    assert page in mona.get(reverse("people")).content.decode()
    assert (
        mona.get(page).status_code
        == mona.get(page_of("own_bag", "o'hara@firm.example")).status_code
        == 200
    )


def test_a_weak_password_is_refused(mona: Client) -> None:
    """Twelve characters at least."""
    data = {"username": "tom", "name": "Tom", "roles": ["technician"], "password": "short"}

    assert "at least 12 characters" in words(mona, "people", data)


def test_a_job_is_planned_with_its_kit(mona: Client, cast: Cast) -> None:
    """Site, job and kit are stored together; a diameter is given in mm with a decimal comma."""
    crew = [cast.people["technician"].pk]
    answer = mona.post(reverse("job_new"), {**JOB, "crew": crew, "van": cast.van.pk})
    job = Job.objects.get(site__name="Rowan House")

    assert answer.headers["Location"] == reverse("job", args=[job.code])
    assert job.configuration["ac_od"] == 125
    assert job.date == date(2026, 11, 27)
    assert job.kit
    assert job.kit.lines.count() > 40


def test_a_job_that_cannot_stand_lists_every_reason(mona: Client) -> None:
    """Both broken limits are told at once, and nothing was stored."""
    before = Job.objects.count()
    told = words(
        mona, "job_new", {**JOB, "stacks": "5", "about_mount": "wall", "about_wall": "aerated"}
    )

    assert told.count("<li>") - told.count("<li><a") >= 2
    assert "This cannot stand as asked" in told
    assert Job.objects.count() == before


def test_a_wrong_answer_about_the_site_is_named(mona: Client) -> None:
    """Field, range and what came."""
    told = words(mona, "job_new", {**JOB, "about_ac_run": "12"})

    assert "expected 1 m to 23.8 m, got '12'" in told


def test_choosing_a_system_shows_its_questions(mona: Client) -> None:
    """Questions that do not arise are not asked; no fault is told before anything was sent."""
    told = words(mona, "job_new", {"family": "tower", "stacks": "2", "ask": "yes"})

    assert 'name="about_mount"' in told
    assert 'name="about_gap"' not in told
    assert "expected some text" not in told
    assert 'name="about_gap"' in words(
        mona, "job_new", {"family": "tower", "stacks": "2, 2", "ask": "yes"}
    )


def test_a_kit_is_released_once(mona: Client, cast: Cast) -> None:
    """A second press says why not."""
    code = cast.works["technician"].job.code
    told = words(mona, "job", {"release": "yes"}, code)

    assert "is released already" in told


def test_a_wrong_sign_in_says_no_more_than_that(db: None, cast: Cast) -> None:
    """Unknown name, wrong password and somebody who left read alike."""
    for name in ("nobody", "wanda", "lars"):
        told = words(Client(), "sign_in", {"username": name, "password": "wrong"})

        assert "Name and password do not fit together, or you no longer work here." in told


def test_signing_in_goes_nowhere_else(db: None, cast: Cast) -> None:
    """An address of another site is not followed."""
    from tests.people import PASSWORD

    data = {"username": "wanda", "password": PASSWORD, "next": "https://elsewhere.example.com/"}
    answer = Client().post(reverse("sign_in"), data)

    assert answer.headers["Location"] == reverse("home")
