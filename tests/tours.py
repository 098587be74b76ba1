"""Which pages each person of the demo's firm visits for `make screens`, and what they do there."""

from __future__ import annotations

import csv
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from urllib.parse import urlsplit
from uuid import UUID

import django

django.setup()

from django.urls import resolve, reverse  # noqa: E402  # needs the settings
from django.utils.timezone import localdate  # noqa: E402  # needs the settings
from playwright.sync_api import Page  # noqa: E402

from inventory.badges import badge_of  # noqa: E402  # needs the settings
from inventory.models import (  # noqa: E402
    BroughtFile,
    Claim,
    Delivery,
    Hold,
    Notice,
    Person,
    Photo,
    Place,
    Return,
    Unit,
)
from kitting.access import may_see_site  # noqa: E402
from kitting.demo import firm as firms  # noqa: E402
from kitting.models import FamilyEdition, Job, Kit, Site  # noqa: E402
from kitting.overviews import walk  # noqa: E402

FIRM = firms.read()
FILES = Path(__file__).parents[1] / "fixtures" / "files"
PEOPLE = ("wanda", "mona", "tariq", "tove")
Login = tuple[str, str]  # name and password; ("", "") is a stranger
STRANGER: Login = ("", "")


@dataclass(frozen=True, slots=True)
class Moment:
    """Something a person does on a page, looked at afterwards."""

    person: Login
    width: str
    act: Callable[[Page], None]
    readme: str = ""  # name of the README's picture of it


def login(name: str) -> Login:
    return (name, FIRM.member(name).password)


def first_day() -> date:
    """The Monday of the week that was walked."""
    return Job.objects.get(code="J1003").date


def rows() -> list[dict[str, str]]:
    """The rows of tests/cast.csv about reading a page; the API has no pages."""
    text = (Path(__file__).parent / "cast.csv").read_text(encoding="utf-8")
    found = csv.DictReader(text.splitlines())
    return [row for row in found if row["method"] == "GET" and not row["route"].startswith("api_")]


def pages() -> set[str]:
    """Every route that shows somebody something."""
    return {row["route"] for row in rows() if "200" in row.values()}


def tours() -> dict[Login, list[tuple[str, str]]]:
    """Person -> (route, address) of all they may open, in the order of the table."""
    found: dict[Login, list[tuple[str, str]]] = {STRANGER: [("sign_in", "/sign-in")]}
    for name in PEOPLE:
        person = Person.objects.get(username=name)
        routes = {
            row["route"]: None
            for row in rows()
            if any(row[role] == "200" for role in person.roles) and row["route"] != "sign_in"
        }
        found[login(name)] = [
            (route, address) for route in routes for address in addresses(route, person)
        ]
    return found


def addresses(route: str, person: Person) -> list[str]:
    """What there is to see at a route, for this person."""
    sort = route.partition("_")[0]
    if route in ("my_jobs", "my_bag", "kits", "job_new"):
        return [reverse(route)]
    if sort == "my":
        return [reverse(route, args=[job.code]) for job in jobs_of(person) if fits(route, job)]
    if route == "job_compare":
        old, new = Job.objects.filter(kind="new").order_by("pk")[:2]
        return [reverse(route, args=[old.code]) + with_ for with_ in ("", f"?with={new.code}")]
    if sort == "job":
        own = jobs_of(person) if person.has("technician") else list(Job.objects.all())[-4:]
        return [reverse(route, args=[job.code]) for job in own]
    if route == "kit_why":
        kits = Kit.objects.filter(edition__name="tower", job__kind="new")
        own = kits.filter(job__crew=person) if person.has("technician") else kits
        wanted = ("", "?item=CT-BOLT6", "?item=CT-SHELF")
        return [reverse(route, args=[kit.code]) + item for kit in own[:1] for item in wanted]
    if sort == "kit":
        return [reverse(route, args=[kit.code]) for kit in Kit.objects.order_by("-code")[:4]]
    if sort == "site":
        return addresses_of_site(route, person)
    if route in ("van_day", "van_load", "list_edition", "list_text", "table_out"):
        return [reverse(route, args=pair) for pair in pairs(route)]
    special = {
        "bench": ["", "?ask=gland&cable_od_mm=7#gland", "?ask=gland&cable_od_mm=#gland"],
        "week": [f"?from={first_day()}"],
        "kits_together": ["?" + "&".join(f"kit={kit.code}" for kit in together())],
        "short_stock": ["", "?show=yes"],
        "day_cuts": [f"?day={first_day()}", f"?day={first_day()}&item=CT-AC4"],
        "trace": ["", f"?code={aside().serial}", "?code=J1003", "?code=D1"],
        "labels": ["?codes=" + "%0A".join(unit.serial for unit in Unit.objects.all()[:3])],
        "stock": ["", "?q=module"],
        "stock_then": [f"?day={localdate()}"],
    }
    if route in special:
        return [reverse(route) + query for query in special[route]]
    values = {
        "scanner_code": ["1", "2"],
        "badge_holds": [badge_of(person)],
        "claim": list(Claim.objects.values_list("code", flat=True)[:3]),
        "claim_file": list(Claim.objects.values_list("code", flat=True)[:1]),
        "return": list(Return.objects.values_list("code", flat=True)[:4]),
        "delivery_photo": list(Delivery.objects.values_list("code", flat=True)[:1]),
        "delivery": list(Delivery.objects.values_list("code", flat=True)),
        "notice": list(Notice.objects.values_list("code", flat=True)[:2]),
        "stock_item": ["CT-MODULE", "CT-BOLT6"],
        **{way: ["CT-MODULE", "CT-AC4"] for way in ("stock_trend", "item_change")},
        "person_change": uids("tove"),
        "own_bag": uids("tariq", "tove"),
        "place_change": [Place.objects.filter(kind="bin")[0].code],
        **{way: [j.van.code for j in vans_out() if j.van] for way in ("van_top_up", "van_out")},
        "photo_file": photos_of(person),
        "brought_file": list(BroughtFile.objects.values_list("code", flat=True)),
    }
    return (
        [reverse(route, args=[value]) for value in values[route]]
        if route in values
        else [reverse(route)]
    )


def together() -> list[Kit]:
    """Kits that one walk picks: those of which most is still to be taken first."""
    return list(Kit.objects.filter(released_at__isnull=False, closed_by=None).order_by("-pk")[:3])


def pairs(route: str) -> list[tuple[str, str]]:
    """What has an address of two parts: vans by the day, editions of lists, kinds of file."""
    if route == "table_out":
        return [("items", "csv"), ("items", "xlsx")]
    if route in ("van_day", "van_load"):
        return [(job.van.code, str(job.date)) for job in vans_out() if job.van]
    editions = FamilyEdition.objects.order_by("name", "-edition")
    return [(one.name, one.edition.isoformat()) for one in editions]


def addresses_of_site(route: str, person: Person) -> list[str]:
    """The first site, of a technician his own first: what stands there, what starts from it."""
    sites = Site.objects.select_related("place").order_by("pk")
    site = next(site for site in sites if may_see_site(person, site))
    more = {"site_describe": "?family=tower"}.get(route, "")
    kinds = [["swap"], ["removal"]] if route == "site_start" else [[]]
    return [reverse(route, args=[site.place.code, *kind]) + more for kind in kinds]


def vans_out() -> list[Job]:
    """The first day that a van goes out."""
    return list(Job.objects.exclude(van=None).select_related("van")[:1])


def jobs_of(person: Person) -> list[Job]:
    """The jobs of a technician whose kit is released."""
    return list(Job.objects.filter(crew=person, kits__released_at__isnull=False).order_by("-code"))


def fits(route: str, job: Job) -> bool:
    """Nothing is unboxed or fitted at a removal, nothing taken down for a new stack."""
    nothing = {"removal": ("my_unbox", "my_fit", "my_start"), "new": ("my_down",)}
    return route not in nothing.get(job.kind, ())


def uids(*names: str) -> list[UUID]:
    return list(Person.objects.filter(username__in=names).values_list("uid", flat=True))


def photos_of(person: Person) -> list[str]:
    own = Photo.objects.filter(erased=False)
    if person.has("technician"):
        own = own.filter(person=person)
    return list(own.values_list("sha256", flat=True)[:1])


def aside() -> Unit:
    """A thing with a story: damaged, set aside, brought back."""
    hold = Hold.objects.exclude(unit=None).order_by("pk").first()
    assert hold is not None
    assert hold.unit is not None
    return hold.unit


def questions(page: Page) -> None:
    """Plan a job: the family's questions about the site."""
    page.goto(reverse("job_new"))
    page.check("[name=family][value=tower]", force=True)
    page.click("button[name=turn][value$=add]")
    page.wait_for_selector("[name=about_mount]")


def week(page: Page) -> None:
    """The week, as the manager begins it."""
    page.goto(reverse("week") + f"?from={first_day()}")


def pick(page: Page) -> None:
    """Pick: one thing that is needed, scanned by a hand scanner."""
    kit = latest("wanda", "expansion")
    page.goto(reverse("kit_pick", args=[kit.code]))
    wanted = (stop.line.item for stop in walk(kit).stops)
    codes = (item.codes.filter(pack_quantity=1).first() for item in wanted)
    scan(page, "01" + next(code.text for code in codes if code is not None))


def another_kits(page: Page) -> None:
    """Load: a parcel of another kit is stopped."""
    kit = latest("wanda", "removal")
    page.goto(reverse("kit_load", args=[kit.code]))
    parcel = latest("wanda", "expansion").packages.filter(kind="parcel").first()
    assert parcel is not None
    scan(page, parcel.place.code)


def unbox(page: Page) -> None:
    """Unbox: a bag is seen at the site."""
    kit = latest("tove", "new")
    page.goto(reverse("my_unbox", args=[kit.job.code]))
    bag = kit.packages.filter(kind="bag").first()
    assert bag is not None
    scan(page, bag.place.code)


def job(page: Page) -> None:
    """The technician's job, what is out of order first."""
    page.goto(reverse("my_job", args=[latest("tove", "new").job.code]))


def no_signal(page: Page) -> None:
    """Unbox without signal: kept, counted, said."""
    kit = latest("tove", "new")
    page.goto(reverse("my_unbox", args=[kit.job.code]))
    page.context.set_offline(True)
    give(page, "LBG0000018")
    page.wait_for_selector("unsent-badge[data-state=unsent]")


def latest(name: str, kind: str) -> Kit:
    """The kit of the newest job of this kind that this person may work on."""
    kits = Kit.objects.filter(job__kind=kind).order_by("-code").select_related("job")
    found = kits.filter(job__crew__username=name).first() if name != "wanda" else kits.first()
    assert found is not None
    return found


def give(page: Page, text: str) -> None:
    page.get_by_label("Type a code").fill(text)
    page.keyboard.press("Enter")


def scan(page: Page, text: str) -> None:
    """Give a code and wait for the answer; typed, for a busy machine tears a scanner's haste."""
    give(page, text)
    page.wait_for_selector(".verdict:not([data-verdict=ready], [data-verdict=saved])")
    page.wait_for_load_state("networkidle")  # the list follows the answer


def look_at_file(page: Page) -> None:
    """A file of stacks that stand already, looked at before it comes in."""
    page.goto(reverse("bring_in"))
    page.check("[name=kind][value=installed]", force=True)
    page.set_input_files("[name=file]", FILES / "installed.csv")
    page.click("main button")
    page.wait_for_selector("#brought")


def letter(page: Page) -> None:
    """A recall letter: what it names, before anything is set aside."""
    page.goto(reverse("notices"))
    page.fill("[name=letter]", "L-77")
    page.fill("[name=wrong]", "a seal may leak")
    page.fill("[name=rule]", f"prefix {aside().serial[:4]}")
    page.click("main form button:not(.quiet)")
    page.wait_for_url("**/recalls/*/")


def route_of(url: str) -> str:
    """The route behind an address of the site."""
    return resolve(urlsplit(url).path).url_name or ""


def moments() -> list[Moment]:
    """What is done and looked at, after all pages were visited as they stood."""
    wanda, mona, tove = login("wanda"), login("mona"), login("tove")
    return [
        Moment(mona, "1280", week, "manager"),
        Moment(mona, "1280", questions),
        Moment(mona, "390", questions),
        Moment(tove, "390", job),
        Moment(mona, "1280", look_at_file),
        Moment(mona, "390", look_at_file),
        Moment(mona, "1280", letter),
        Moment(mona, "390", letter),
        Moment(wanda, "1280", pick, "warehouse"),
        Moment(wanda, "390", another_kits),
        Moment(tove, "390", unbox, "technician"),
        Moment(tove, "390", no_signal),
    ]
