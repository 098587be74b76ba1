"""Who may see and change which job. What a person may not see is not there (404).

Warehouse and manager see all jobs, a technician those whose crew holds them.
"""

from __future__ import annotations

from datetime import date
from uuid import UUID

from django.db.models import QuerySet
from django.http import Http404

from inventory.ledger.line import Line
from inventory.models import Person, Place, PlaceKind, Role
from inventory.rows import Question, Slot
from kitting import asked_for
from kitting.models import FamilyEdition, Job, Kit, Site, Sites

NO_SUCH_JOB = "No such job."
NO_SUCH_SITE = "No such site."
_SITE_OF = Question(
    lambda: Site.objects.filter(place__code=Slot(Place, "code")).select_related("place").order_by()
)
# The snapshot is long and only fitting reads it.
_KIT_OF = Question(
    lambda: (
        Kit.objects.filter(code=Slot(Kit, "code"))
        .select_related("job__site__place", "job__van")
        .defer("snapshot")
        .order_by()
    )
)


def at_desk(person: Person) -> bool:
    """Whether the person sees all jobs."""
    return person.has(Role.WAREHOUSE, Role.MANAGER)


def may_see(person: Person, job: Job) -> bool:
    """Whether the person may know of this job."""
    in_crew = person.has(Role.TECHNICIAN) and job.crew.filter(pk=person.pk).exists()
    return at_desk(person) or in_crew


def jobs_of(person: Person) -> QuerySet[Job]:
    """Return the jobs a person may see."""
    jobs = Job.objects.select_related("site__place", "van")
    if at_desk(person):
        return jobs
    return jobs.filter(crew=person) if person.has(Role.TECHNICIAN) else jobs.none()


def day_read(text: str) -> date:
    """Return a day by its ISO date; far-off ones would run past the calendar's ends."""
    try:
        day = date.fromisoformat(text)
    except ValueError:
        raise Http404 from None
    if not 2000 <= day.year <= 2999:
        raise Http404
    return day


def job_read(person: Person, code: str) -> Job:
    """Return a job by its code."""
    job = jobs_of(person).filter(code=code).first()
    if job is None:
        raise Http404
    return job


def job_write(person: Person, code: str) -> Job:
    """Return a job that this person may plan, change or cancel: managers only."""
    job = job_read(person, code)
    if not person.has(Role.MANAGER):
        raise Http404
    return job


def list_read(person: Person, family: str, day: str) -> FamilyEdition:
    """Return an edition of a parts list by its family and ISO date: warehouse and managers."""
    try:
        edition = FamilyEdition.objects.filter(name=family, edition=date.fromisoformat(day)).first()
    except ValueError:
        edition = None
    if edition is None or not at_desk(person):
        raise Http404
    return edition


def list_write(person: Person, family: str, day: str) -> FamilyEdition:
    """Return an edition that this person may make the one in use: managers only."""
    edition = list_read(person, family, day)
    if not person.has(Role.MANAGER):
        raise Http404
    return edition


def kit_read(person: Person, code: str | UUID) -> Kit:
    """Return a kit by its code (J1042-1), its uuid, or its job's code (the latest kit)."""
    kits = Kit.objects.select_related("job__site__place", "job__van", "edition", "closed_by")
    kits = kits.annotate(awaits=asked_for.awaits("kit"))
    if isinstance(code, UUID):
        kit = kits.filter(uid=code).first()
    else:
        latest = kits.filter(job__code=code).order_by("-revision")
        kit = kits.filter(code=code).first() or latest.first()
    if kit is None or not may_see(person, kit.job):
        raise Http404
    return kit


def kit_write(person: Person, code: str | UUID) -> Kit:
    """Return a kit that this person may release or pick for: warehouse and managers."""
    kit = kit_read(person, code)
    if not at_desk(person):
        raise Http404
    return kit


def own_kit_read(person: Person, code: str) -> Kit:
    """Return the kit of a job on which this person is a technician of the crew."""
    kit = kit_read(person, code)
    if not (person.has(Role.TECHNICIAN) and kit.job.crew.filter(pk=person.pk).exists()):
        raise Http404
    return kit


def site_read(person: Person, uid: UUID) -> Site:
    """Return a site: for the desk, and for technicians who have a job there."""
    return _seen_site(person, Site.objects.select_related("place").filter(uid=uid).first())


def site_at(person: Person, code: str) -> Site:
    """Return a site by the code of its place: for the desk, and for technicians with a job."""
    sites = Site.objects.select_related("place").filter(place__code=code)
    return _seen_site(person, sites.first())


def _seen_site(person: Person, site: Site | None) -> Site:
    if site is None or not may_see_site(person, site):
        raise Http404
    return site


def van_read(person: Person, code: str) -> Place:
    """Return a van by its code, for the desk: its day shows every crew's jobs."""
    place = Place.objects.filter(code=code, kind=PlaceKind.VAN).first()
    if place is None or not at_desk(person):
        raise Http404
    return place


def van_write(person: Person, code: str) -> Place:
    """Return a van whose papers this person may enter: managers only."""
    place = van_read(person, code)
    if not person.has(Role.MANAGER):
        raise Http404
    return place


def colleague_read(person: Person, uid: UUID) -> Person:
    """Return somebody of the firm, for the desk: what they take along is topped up, or emptied."""
    found = Person.objects.filter(uid=uid).first()
    if found is None or not at_desk(person):
        raise Http404
    return found


def colleague_write(person: Person, uid: UUID) -> Person:
    """Return somebody of the firm to whom this person may give a bag: managers only."""
    found = colleague_read(person, uid)
    if not person.has(Role.MANAGER):
        raise Http404
    return found


def sites_of(person: Person) -> Sites:
    """Return the sites a person may know of: the desk all, a technician those of own jobs."""
    if at_desk(person):
        return Site.objects.all()
    return Site.objects.filter(jobs__in=jobs_of(person)).distinct()


def may_see_site(person: Person, site: Site) -> bool:
    """Whether the person may know of this site."""
    return at_desk(person) or jobs_of(person).filter(site=site).exists()


def site_of_subject(subject: str) -> Site | None:
    """Return the site that "site:<code of its place>" names, None if there is none."""
    prefix, _, code = subject.partition(":")
    if prefix != "site":
        return None
    return _SITE_OF.one(code=code)


def site_subject_read(person: Person, code: str) -> bool:
    """Whether the person may see what is about this site."""
    site = Site.objects.filter(place__code=code).first()
    return site is not None and may_see_site(person, site)


def kit_of_subject(subject: str) -> Kit | None:
    """Return the kit that "kit:<code>" names, None if there is none."""
    prefix, _, code = subject.partition(":")
    if prefix != "kit":
        return None
    return _KIT_OF.one(code=code)


def subject_read(person: Person, code: str) -> bool:
    """Whether the person may see what is about this kit (photos, notes, problems)."""
    kit = Kit.objects.select_related("job").filter(code=code).first()
    return kit is not None and may_see(person, kit.job)


def allow(person: Person, line: Line) -> str:
    """Say whether a person may send an event about this kit: "" or why not."""
    prefix, _, code = line.subject.partition(":")
    kits = Kit.objects.filter(code=code, job__in=jobs_of(person))
    return "" if prefix == "kit" and kits.exists() else NO_SUCH_JOB
