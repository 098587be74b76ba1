"""Every page, by the role it is for, with things on it."""

import re
from html.parser import HTMLParser

import pytest
from django.urls import reverse
from pytest_django import DjangoAssertNumQueries

from kitting.security import CONTENT_POLICY
from tests.people import Cast, page_of
from tests.test_words import verdicts

# URL name, member, what must be read on it. "job" and "kit" are filled in from the member's work.
PAGES = [
    ("week", "manager", "The week of"),
    ("job_new", "manager", "Plan a job"),
    ("job", "manager", "Why "),
    ("job_visit", "manager", "Put it off"),
    ("job_compare", "manager", "Nothing is stored here"),
    ("job_drawing", "manager", "<desc"),
    ("van_out", "manager", "Its jobs"),
    ("kit_unload", "warehouse", "off its van"),
    ("leads", "manager", "What leads let through"),
    ("lead_word", "warehouse", "No scan of the bench was stopped"),
    ("to_order", "warehouse", "Who waits"),
    ("stock_trend", "warehouse", "over time"),
    ("job_call", "manager", "What the crew tells"),
    ("calls", "warehouse", "Find the job"),
    ("part_requests", "warehouse", "Nothing is asked for"),
    ("people", "manager", "Tariq"),
    ("person_change", "manager", "Tariq"),
    ("own_sign_in", "technician", "Change my password"),
    ("own_bag", "manager", "Give Tariq a bag"),
    ("places", "manager", "Van 1"),
    ("kits", "warehouse", "Load the van"),
    ("kits_together", "warehouse", "The boxes"),
    ("kit", "warehouse", "Caution"),
    ("kit_why", "technician", "What it comes with"),
    ("kit_checks", "warehouse", "Nothing is left to a person"),
    ("lists", "warehouse", "Corbel Tower, parts list of 3 Nov 2026"),
    ("list_new", "warehouse", "The empty sheet"),
    ("list_edition", "manager", "Every need is met by one rule"),
    ("list_proposals", "manager", "Nothing yet"),
    ("boxes", "warehouse", "Everything, as told"),
    ("kit_pick", "warehouse", "Still to take"),
    ("kit_load", "warehouse", "on the van"),
    ("goods_in", "warehouse", "It arrives at"),
    ("deliveries", "warehouse", "A delivery is at the door"),
    ("delivery", "warehouse", "Write this on the driver"),
    ("claims", "warehouse", "Tell them in writing by"),
    ("claim", "manager", "What it needs"),
    ("return", "manager", "Its way"),
    ("charging", "warehouse", "What is due first"),
    ("counting", "warehouse", "What the book has is not shown"),
    ("pieces", "warehouse", "What ends first"),
    ("on_order", "warehouse", "Something was ordered"),
    ("stock_then", "manager", "Rebuilt from every movement"),
    ("partners", "manager", "within 30 days"),
    ("put_away", "warehouse", "It goes to"),
    ("labels", "warehouse", "read back as a scanner would"),
    ("printing", "warehouse", "kept, not sent"),
    ("printers", "manager", "Add a printer"),
    ("returns", "warehouse", "Set aside"),
    ("van_day", "manager", "What the rules say"),
    ("bench", "technician", "Figures at the bench"),
    ("stock", "warehouse", "battery module"),
    ("stock_item", "warehouse", "Where it is"),
    ("day_cuts", "warehouse", "Cuts on"),
    ("item_new", "warehouse", "Add an item"),
    ("item_change", "warehouse", "Add a code"),
    ("problems", "manager", "Nobody has answered yet"),
    ("trace", "manager", "Trace"),
    ("photo", "manager", "Read a photo"),
    ("my_jobs", "technician", "Open "),
    ("my_bag", "technician", "no bag of your own"),
    ("my_job", "technician", "Take the van over"),
    ("my_load", "technician", "on the van"),
    ("my_unbox", "technician", "Loose at the site"),
    ("my_fit", "technician", "Place in the stack"),
    ("my_start", "technician", "What the screen shows"),
    ("my_down", "technician", "What stands there"),
    ("my_missing", "technician", "Look here first"),
    ("my_problem", "technician", "What is it"),
    ("my_back", "technician", "Used as planned"),
]
CODES = {"delivery": "D1", "claim": "D1-1", "return": "R1"}
# Name -> most queries. What lists kits asks of all of them together (kitting/folding.py); returns
# ask three for each that is out today, five for what came back and its claims, and what the parts
# lists say of each grave kind.
LISTS = {
    "stock": 6,
    "boxes": 5,
    "people": 5,
    "places": 6,
    "problems": 11,
    "stock_item": 10,
    "deliveries": 9,
    "delivery": 24,
    "claims": 10,
    "claim": 30,
    "return": 30,
    "charging": 10,
    "on_order": 10,
    "counting": 10,
    "pieces": 8,
    "printing": 6,
    "printers": 6,
    "week": 34,
    "kits": 34,
    "kits_together": 38,
    "my_jobs": 42,
    "returns": 26,
    "kit_pick": 42,
    "my_unbox": 16,
    "my_missing": 42,
}


def address(cast: Cast, name: str, member: str) -> str:
    work = cast.works["technician"]
    match name:
        case "list_edition":
            return reverse(name, args=["tower", "2026-11-03"])
        case "kit" | "kit_pick" | "kit_load" | "kit_unload" | "kit_checks":
            return reverse(name, args=[work.kit.code])
        case "kit_why":
            return f"{reverse(name, args=[work.kit.code])}?item=CT-BOLT6"
        case "delivery" | "claim" | "return":
            return reverse(name, args=[CODES[name]])
        case "stock_item" | "stock_trend" | "item_change":
            return reverse(name, args=["CT-MODULE"])
        case "person_change" | "own_bag":
            return page_of(name, "tariq")
        case "trace":
            return f"{reverse(name)}?code={work.serial}"
        case "van_day" | "van_out":
            day = [work.job.date] if name == "van_day" else []
            return reverse(name, args=[work.job.van.code, *day])
        case "week" | "kits_together":
            asked = {"week": "from", "kits_together": "day"}
            return f"{reverse(name)}?{asked[name]}={work.job.date}"
    of_job = name in ("job", "job_drawing", "job_compare", "job_visit", "job_call") or (
        name.startswith("my_") and name not in ("my_jobs", "my_bag")
    )
    return reverse(name, args=[work.job.code]) if of_job else reverse(name)


@pytest.mark.parametrize(("name", "member", "text"), PAGES, ids=[page[0] for page in PAGES])
def test_a_page_shows_what_its_role_needs(
    db: None, cast: Cast, name: str, member: str, text: str
) -> None:
    """It answers, carries the content policy, gives no verdict on danger, and is one document."""
    answer = cast.clients[member].get(address(cast, name, member))
    html = answer.content.decode()

    assert answer.status_code == 200
    assert text in html
    assert answer.headers["Content-Security-Policy"] == CONTENT_POLICY
    assert verdicts(re.sub(r"<[^>]*>", " ", html)) == []
    assert Page(html).faults() == []


@pytest.mark.parametrize("name", LISTS)
def test_a_list_asks_few_questions(
    db: None, cast: Cast, name: str, django_assert_max_num_queries: DjangoAssertNumQueries
) -> None:
    """A page that lists keeps to its number of queries."""
    member = next(member for page, member, _ in PAGES if page == name)
    where = address(cast, name, member)
    with django_assert_max_num_queries(LISTS[name]):
        cast.clients[member].get(where)


def test_a_page_without_its_role_is_refused(db: None, cast: Cast) -> None:
    """A technician gets no desk page, the warehouse no people."""
    assert cast.clients["technician"].get(reverse("stock")).status_code == 403
    assert cast.clients["warehouse"].get(reverse("people")).status_code == 403


def test_another_crews_job_is_not_there(db: None, cast: Cast) -> None:
    """Own-jobs pages answer 404 for a job of another crew and for one that does not exist."""
    other = cast.works["other_technician"].job.code
    for code in (other, "J9999"):
        for name in ("my_job", "my_load", "my_unbox", "my_fit", "my_problem", "my_back"):
            answer = cast.clients["technician"].get(reverse(name, args=[code]))

            assert answer.status_code == 404
            assert b"Quince" not in answer.content


class Page(HTMLParser):
    """Looks for what the content policy blocks and what a screen reader misses."""

    VOID = frozenset(("meta", "link", "input", "br", "path", "rect", "circle", "use", "hr", "img"))

    def __init__(self, html: str) -> None:
        super().__init__()
        self.html, self.ids, self.found, self.labelled = html, [], [], set()
        self.inputs: list[dict[str, str | None]] = []
        self.inside_label, self.presses = (
            0,
            -1_000,
        )  # presses: in this paragraph, where nothing parts them
        self.feed(html)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        values = dict(attrs)
        self.found += [f"{name} on {tag}" for name in values if name.startswith("on")]
        if "style" in values or tag == "style":
            self.found.append(f"style on {tag}")
        if tag == "script" and not values.get("src"):
            self.found.append("script in the page")
        if values.get("id"):
            self.ids.append(str(values["id"]))
        if tag == "p":
            self.presses = 0
        if tag == "a" and values.get("class", "").startswith("button"):
            self.presses += 1
            if self.presses > 1:
                self.found.append(f"presses that touch: {values.get('href')}")
        if tag == "p" and values.get("class"):
            self.presses = -1_000  # of a class that parts them
        if tag == "label":
            self.inside_label += 1
            self.labelled.add(values.get("for"))
        field = tag in ("input", "select", "textarea") and values.get("type") != "hidden"
        if field and not self.inside_label and "aria-label" not in values:
            self.inputs.append(values)

    def handle_endtag(self, tag: str) -> None:
        self.inside_label -= tag == "label"
        if tag == "p":
            self.presses = -1_000  # elsewhere they stand in a list or among acts

    def faults(self) -> list[str]:
        """Inline code, doubled ids, presses that touch, fields without a label, no heading."""
        twice = {one for one in self.ids if self.ids.count(one) > 1}
        nameless = [values for values in self.inputs if values.get("id") not in self.labelled]
        return [
            *self.found,
            *(f"id {one} twice" for one in sorted(twice)),
            *(f"no label: {values}" for values in nameless),
            *([] if '<html lang="en">' in self.html else ["no language"]),
            *([] if "<h1" in self.html else ["no heading"]),
        ]
