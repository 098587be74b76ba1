"""The first day: nothing is there, not even a person; what is entered is no longer to do."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from django.core.management import call_command
from django.test import Client

from inventory.models import Person, Place, Role
from kitting import families, first_day
from tests.stories.counting_hands import Hands

pytestmark = pytest.mark.django_db
SECRET = "gravel-and-lanterns"
CORBEL = Path(__file__).resolve().parents[2] / "fixtures" / "families" / "tower.toml"


def to_do() -> list[str]:
    return [step.title for step in first_day.first_steps() if not step.done]


def test_the_first_person_of_an_empty_firm_gets_in(monkeypatch: pytest.MonkeyPatch) -> None:
    """The sign-in page says how; who was entered so may do everything."""
    browser = Client()
    assert "manage.py createsuperuser" in browser.get("/sign-in").content.decode()

    monkeypatch.setenv("DJANGO_SUPERUSER_PASSWORD", SECRET)
    call_command("createsuperuser", "--noinput", username="anna", name="Anna Ferrin", verbosity=0)
    anna = Person.objects.get()
    assert (anna.name, sorted(anna.roles)) == ("Anna Ferrin", sorted(Role.values))
    assert "createsuperuser" not in browser.get("/sign-in").content.decode()

    gone = browser.post("/sign-in", {"username": "anna", "password": SECRET}, follow=True)
    assert gone.request["PATH_INFO"] == "/week/"
    assert "The first day" in gone.content.decode()


def test_what_is_entered_is_no_longer_to_do() -> None:
    """Each line leads to the page where it is entered, and is ticked once it was."""
    anna = Person.objects.create_superuser("anna", SECRET, name="Anna Ferrin")
    office = Hands(anna).begin("/week/")
    for step in first_day.first_steps():
        assert step.title in office.page.words
        office.follow(step.title)  # leads to a page that is there
        office.begin("/week/")
    assert len(to_do()) == 7

    families.load(CORBEL.read_text(encoding="utf-8"), CORBEL.name)
    office.begin("/places/").submit(
        "/places/", "Add", kind="depot", name="Depot", time_zone="Europe/Berlin"
    )
    depot = str(Place.objects.get().pk)
    office.begin("/places/").submit("/places/", "Add", kind="dock", name="Dock", parent=depot)
    office.begin("/places/").submit("/places/", "Add", kind="bin", name="A1", parent=depot)
    assert "A depot with dock and bins, and the vans" in to_do()  # no van yet
    office.begin("/places/").submit("/places/", "Add", kind="van", name="Van 1")
    given = {"username": "tariq", "name": "Tariq", "roles": "technician", "password": SECRET}
    office.begin("/people/").submit("/people/", "Add", **given)
    office.begin("/partners/").submit(
        "/partners/", "Add", code="hull", name="Hull Parts", kind="supplier"
    )
    assert to_do() == ["A first job", "What lies on the shelves", "Stacks that stand already"]


def test_each_line_opens_its_form_as_it_is_needed_and_says_what_goes_before() -> None:
    """A file's kind is chosen already; nothing needs what stands below it."""
    anna = Person.objects.create_superuser("anna", SECRET, name="Anna Ferrin")
    browser = Client()
    browser.force_login(anna)
    page = browser.get("/week/").content.decode()
    steps = first_day.first_steps()
    titles = [step.title for step in steps]
    for kind in [step.kind for step in steps if step.kind]:
        assert f'href="/bring-in/?kind={kind}"' in page
        form = browser.get(f"/bring-in/?kind={kind}").content.decode()
        assert re.findall(r'value="(\w+)"[^>]*checked', form)[0] == kind
    for place, step in enumerate(steps):
        assert step.needs == "" or step.needs in titles[:place]

    waits = {step.title: step.needs for step in steps if step.needs}
    assert waits == {
        "A first job": "A parts list",
        "What lies on the shelves": "A depot with dock and bins, and the vans",
        "Stacks that stand already": "A parts list",
    }
    families.load(CORBEL.read_text(encoding="utf-8"), CORBEL.name)
    assert [step.title for step in first_day.first_steps() if step.needs] == [
        "What lies on the shelves"
    ]
