"""The configuration editor: what it sends while somebody types, and where each limit shows."""

import re

import pytest
from django.test import Client
from django.urls import reverse

from kitting.models import Job
from tests.pages.test_forms import JOB
from tests.people import Cast

LIVE = {"HTTP_HX_REQUEST": "true"}
TOWER = {**JOB, "ask": "yes", "shown_family": "tower", "shown_site": ""}


@pytest.fixture
def mona(db: None, cast: Cast) -> Client:
    return cast.clients["manager"]


def shown(*left_out: str) -> list[str]:
    """Names of the questions that the page holds already."""
    asked = [name.removeprefix("about_") for name in JOB if name.startswith("about_")]
    return [name for name in asked if name not in left_out]


def live(client: Client, **changes: object) -> str:
    """What comes back while somebody types."""
    answer = client.post(reverse("job_new"), {**TOWER, "shown": shown(), **changes}, **LIVE)

    assert answer.status_code == 200
    return answer.content.decode().replace("&#x27;", "'")


def ids(html: str) -> set[str]:
    """Parts of the page that the answer replaces."""
    return set(re.findall(r'id="([\w-]+)"[^>]* hx-swap-oob', html))


def said_at(html: str, name: str) -> str:
    """What stands at one field."""
    found = re.search(rf'<div id="says-{name}".*?</div>', html, re.S)
    return re.sub(r"<[^>]+>", " ", found[0]) if found else ""


def test_an_answer_replaces_no_field_that_stands(mona: Client) -> None:
    """Only words beside the fields, the drawing and the short list come anew."""
    html = live(mona)

    assert not {one for one in ids(html) if one.startswith("q-")}
    assert "<input" not in html
    assert {"live", "short", "says-about_ac_run", "says-stacks"} <= ids(html)
    assert "68 lines" not in html
    assert re.search(r"<dt>Lines</dt><dd>\d+</dd>", html)


def test_a_question_comes_and_goes_alone(mona: Client) -> None:
    """A second stack brings its gap; without it the gap goes, and what was typed is kept."""
    comes = live(mona, stacks=["2", "2"])
    goes = live(mona, stacks="2", shown=[*shown(), "gap"], about_gap="300")

    assert {one for one in ids(comes) if one.startswith("q-")} == {"q-gap"}
    assert {one for one in ids(goes) if one.startswith("q-")} == {"q-gap"}
    assert '<input type="hidden" name="about_gap" value="300">' in goes


def test_each_limit_shows_at_the_field_that_breaks_it(mona: Client) -> None:
    """All at once, in kg and metres, before anything is sent off."""
    html = live(mona, stacks="5", about_mount="wall", about_wall="aerated", about_ac_run="99 m")

    assert "On the wall a stack has 1 to 4 modules: expected at most 4, got 5" in said_at(
        html, "stacks"
    )
    assert "expected at most 180 kg, got 212 kg" in said_at(html, "stacks")
    assert "No wall mounting on an aerated wall" in said_at(html, "about_wall")
    assert "expected 1 m to 23.8 m, got '99 m'" in said_at(html, "about_ac_run")
    assert html.count("No wall mounting on an aerated wall") == 3  # two fields and the list


def test_a_slip_beyond_the_parts_list_is_said_at_the_stacks(mona: Client) -> None:
    """Seven modules, four stacks: neither is drawn away in silence."""
    assert "Stack 2: expected 1 to 6 modules, got 7" in said_at(
        live(mona, stacks=["6", "7"]), "stacks"
    )
    assert "expected 1 to 3 stacks, got 4" in said_at(live(mona, stacks="1, 1, 1, 1"), "stacks")
    assert "expected a number of modules, got 'two'" in said_at(live(mona, stacks="two"), "stacks")


def test_a_length_is_told_as_it_was_read(mona: Client) -> None:
    """Metres or mm as the person types."""
    html = live(mona, about_ac_run="4,2 m", about_data_run="4200")

    assert "read as 4.2 m" in said_at(html, "about_ac_run")
    assert "read as 4.2 m" in said_at(html, "about_data_run")


def test_what_is_not_known_stays_open_in_the_short_list(mona: Client) -> None:
    """The box and its tick bear one name; the tick counts."""
    html = live(mona, about_ac_od=["12", "unknown"])

    assert "Still open" in html
    assert "mains cable's diameter" in html


def test_another_system_brings_its_questions_as_last_time(mona: Client, cast: Cast) -> None:
    """Habits of this person's last job are filled in and named; lengths are left to be measured."""
    html = live(mona, shown_family="", about_mount="", about_ac_run="", about_covering="")
    job = Job.objects.filter(planned_by=cast.people["manager"]).latest("pk")
    mount = job.configuration["mount"]

    assert "about" in ids(html)
    assert f"as for {job.code}" in html
    assert re.search(rf'value="{mount}"[^>]*checked', html)
    assert re.search(r'name="about_ac_run"(?! value)', html)


def test_without_a_script_a_press_is_a_page(mona: Client) -> None:
    """+ and one more stack are sent like anything else, and no crew is lost on the way."""
    crew = Job.objects.first().crew.get().pk
    data = {**JOB, "turn": "stacks add", "stacks": ["2"], "crew": [str(crew)]}
    html = mona.post(reverse("job_new"), data).content.decode()

    assert html.count('aria-label="Modules in stack') == 2
    assert 'name="about_gap"' in html
    assert re.search(rf'name="crew" value="{crew}"[^>]*checked', html)


def test_the_address_fills_the_form(mona: Client, cast: Cast) -> None:
    """Other pages begin a plan by what they know."""
    site = cast.works["technician"].job.site
    data = {
        "site": site.place.code,
        "family": "tower",
        "job": "expansion",
        "stacks": "3",
        "before": "2",
    }
    html = mona.get(reverse("job_new"), data).content.decode()

    assert re.search(rf'<option value="{site.place.code}" selected', html)
    assert 'name="before" value="2"' in html
    assert 'name="stacks" value="3"' in html
    run = cast.works["technician"].job.configuration["ac_run"]
    assert f'name="about_ac_run" value="{run}"' in html


def states_drawn(html: str) -> dict[str, int]:
    """State -> modules drawn so."""
    drawn = re.findall(r'<g class="unit (\w+)" data-position', html)
    return {state: drawn.count(state) for state in drawn}


def test_a_limit_shows_in_the_drawing_where_it_breaks(mona: Client) -> None:
    """Four modules hang on a wall, a fifth is crossed out; more stacks than the list has, likewise.

    The mass of a stack is of the whole stack, so all of it is crossed.
    """
    height = live(mona, stacks="5", about_mount="wall", about_wall="timber", about_stud_pitch="400")
    row = live(mona, stacks=["2", "3"])
    seven = live(mona, stacks="7")

    assert states_drawn(height) == {"over": 5}  # 212 kg, at most 180 on the wall
    assert states_drawn(row) == {"planned": 2, "over": 3}  # L1: all stacks alike
    assert states_drawn(seven) == {"planned": 6, "over": 1}  # one to six modules
    assert "All stacks have the same number of modules: they differ by 1" in row
    assert "beyond a limit" in seven
    assert "beyond a limit" not in live(mona)
