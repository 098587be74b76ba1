"""Who is with a thing away from the depot: crews of kits, vans and sites; what stands unseen."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date, timedelta

from django.db.models import Prefetch
from django.utils import timezone

from inventory import calling, unseen
from inventory.calling import Contact, Where
from inventory.codes.serials import key as serial_key
from inventory.models import Item, Person, Place, PlaceKind
from inventory.unseen import Unseen
from kitting import as_built
from kitting.models import AsBuilt, Installed, Job, Kit, Site, Survey

LATELY = timedelta(days=14)  # a van's last crew, if nobody goes out with it any more
_PEOPLE = Person.objects.order_by("name")
_CREW = Prefetch("crew", _PEOPLE)


def register() -> None:
    """Tell the lower house."""
    calling.register(crews_of)
    unseen.register(standing_unseen)


def crews_of(at: Sequence[Where]) -> list[list[Contact]]:
    """Return each crew: of the kit, the van's next job or the site's last; then who is there.

    In a few queries for all of them.
    """
    of_kit = _of_kits({subject for _, subject in at if subject})
    rest = [place for place, subject in at if subject not in of_kit]
    today = timezone.localdate()
    jobs = Job.objects.filter(cancelled_at=None, crew__isnull=False).distinct()
    jobs = jobs.prefetch_related(_CREW).order_by("date", "leaves_at", "pk")
    vans = {van.pk for place in rest if (van := place.within(PlaceKind.VAN))}
    sites = {site.pk for place, _ in at if (site := place.within(PlaceKind.SITE))}
    there = {site.place_id: _there(site) for site in Site.objects.filter(place__in=sites)}
    of_vans = list(jobs.filter(van__in=vans, date__gte=today - LATELY)) if vans else []
    at_sites = list(jobs.filter(site__place__in=sites).select_related("site")) if sites else []
    found = []
    for place, subject in at:
        job = of_kit.get(subject)
        van, site = place.within(PlaceKind.VAN), place.within(PlaceKind.SITE)
        if job is None and van is not None:
            job = _next([one for one in of_vans if one.van_id == van.pk], today)
        elif job is None and site is not None:
            job = _last([one for one in at_sites if one.site.place_id == site.pk], today)
        crew = _crew(job) if job is not None else []
        found.append([*crew, *(there.get(site.pk, ()) if site is not None else ())])
    return found


def _there(site: Site) -> list[Contact]:
    """Whoever lives or works at a site, if it has a name or a number."""
    known = site.name or site.phone
    return [Contact(str(site), site.phone, "at the site")] if known else []


def _of_kits(subjects: set[str]) -> dict[str, Job]:
    codes = {subject.removeprefix("kit:"): subject for subject in subjects if "kit:" in subject}
    kits = Kit.objects.filter(code__in=codes) if codes else Kit.objects.none()
    # The snapshot is long and nobody reads it here.
    kits = kits.defer("snapshot").select_related("job")
    return {codes[k.code]: k.job for k in kits.prefetch_related(Prefetch("job__crew", _PEOPLE))}


def _next(jobs: Sequence[Job], today: date) -> Job | None:
    """The first that is still to come, else the one before. jobs: of one van, by date."""
    ahead = [job for job in jobs if job.date >= today]
    return next(iter([*ahead, *reversed(jobs)]), None)


def _last(jobs: Sequence[Job], today: date) -> Job | None:
    """The last that has been, else the last of all. jobs: of one site, by date."""
    been = [job for job in jobs if job.date <= today]
    return next(reversed(been or jobs), None)


def _crew(job: Job) -> list[Contact]:
    words = f"crew of {job.code}, {job.date:%-d %b}"
    return [
        Contact(person.name, person.phone, words, person.pk)
        for person in job.crew.all()
        if person.is_active
    ]


def standing_unseen(site: Place | None = None) -> Iterator[Unseen]:
    """What stands at sites and whose serial nobody has read: told by kind, or only described.

    site: to ask of one only.
    """
    here = {"site": site} if site else {}
    stands = AsBuilt.objects.filter(until=None, **here).select_related("site")
    told = as_built.told_unseen(site)
    taken: set[tuple[int, int, int]] = set()
    for row in stands.order_by("pk"):
        taken.add((row.site_id, row.stack, row.level))
        if row.item_id is not None:
            yield unseen_at(row.item_id, row, told.get(as_built.spot(row, row.since_id)))
    items = dict(Item.objects.values_list("code", "pk"))
    surveys = Survey.objects.filter(site__place=site) if site else Survey.objects.all()
    latest = {survey.site_id: survey for survey in surveys.select_related("site__place")}
    for survey in latest.values():
        place = survey.site.place
        for entry in survey.positions:
            at = (place.pk, entry["stack"], entry["level"])
            if at not in taken and entry["item"] in items:
                yield Unseen(items[entry["item"]], place, _position(*at[1:]))


def unseen_at(item: int, row: AsBuilt | Installed, told: Installed | None) -> Unseen:
    """Return what stands unseen at a place of a stack; told: what a file says of it."""
    where = _position(row.stack, row.level)
    if told is None:
        return Unseen(item, row.site, where)
    batch = serial_key(told.batch) if told.batch else ""
    return Unseen(item, row.site, where, batch, told.made_on)


def _position(stack: int, level: int) -> str:
    return f"stack {stack}, place {level}"
