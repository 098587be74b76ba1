"""Who is with a thing away from the depot: crews of kits, vans and sites; what stands unseen."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta

from django.db.models import Prefetch, QuerySet
from django.utils import timezone

from inventory import calling, naming
from inventory.calling import Contact
from inventory.models import Item, Person, Place, PlaceKind
from inventory.naming import Unseen
from kitting.access import kit_of_subject
from kitting.models import AsBuilt, Job, Survey

LATELY = timedelta(days=14)  # a van's last crew, if nobody goes out with it any more


def register() -> None:
    """Tell the lower house."""
    calling.register(crew_of)
    naming.register(unseen)


def crew_of(place: Place, subject: str) -> list[Contact]:
    """Return the crew of the kit, of the van's next job, or of the site's last job."""
    job = _job(place, subject)
    if job is None:
        return []
    words = f"crew of {job.code}, {job.date:%-d %b}"
    return [
        Contact(person.name, person.phone, words, person.pk)
        for person in job.crew.all()
        if person.is_active
    ]


def _job(place: Place, subject: str) -> Job | None:
    kit = kit_of_subject(subject) if subject else None
    if kit is not None:
        return kit.job
    jobs = _with_crew(Job.objects.filter(cancelled_at=None))
    today = timezone.localdate()
    van, site = place.within(PlaceKind.VAN), place.within(PlaceKind.SITE)
    if van is not None:
        return _of_van(jobs.filter(van=van), today)
    here = jobs.filter(site__place=site).order_by("-date", "-pk") if site else jobs.none()
    return next((job for job in here if job.date <= today), here.first())


def _of_van(jobs: QuerySet[Job], today: date) -> Job | None:
    ahead = jobs.filter(date__gte=today).order_by("date", "leaves_at", "pk").first()
    return ahead or jobs.filter(date__gte=today - LATELY).order_by("-date", "-pk").first()


def _with_crew(jobs: QuerySet[Job]) -> QuerySet[Job]:
    crew = Person.objects.order_by("name")
    return jobs.filter(crew__isnull=False).distinct().prefetch_related(Prefetch("crew", crew))


def unseen() -> Iterator[Unseen]:
    """What stands at sites and whose serial nobody has read: told by kind, or only described."""
    stands = AsBuilt.objects.filter(until=None).select_related("site")
    taken: set[tuple[int, int, int]] = set()
    for row in stands.order_by("pk"):
        taken.add((row.site_id, row.stack, row.level))
        if row.item_id is not None:
            yield Unseen(row.item_id, row.site, _position(row.stack, row.level))
    items = dict(Item.objects.values_list("code", "pk"))
    latest = {survey.site_id: survey for survey in Survey.objects.select_related("site__place")}
    for survey in latest.values():
        place = survey.site.place
        for entry in survey.positions:
            at = (place.pk, entry["stack"], entry["level"])
            if at not in taken and entry["item"] in items:
                yield Unseen(items[entry["item"]], place, _position(*at[1:]))


def _position(stack: int, level: int) -> str:
    return f"stack {stack}, place {level}"
