"""What a code of a job, a kit or a site is about, for whoever looks back (inventory.look_back)."""

from __future__ import annotations

from django.urls import reverse

from inventory.look_back import About
from kitting import kit_label
from kitting.models import Installed, Job, Kit, Site


def about(text: str) -> About | None:
    """Return the job, kit or site that a code names; capitals do not matter."""
    job = Job.objects.filter(code__iexact=text).select_related("site__place").first()
    if job is not None:
        kits = [kit.subject for kit in Kit.objects.filter(job=job)]
        name = f"Job {job.code}, {job.site.place.name}"
        return About("job", name, tuple(kits), reverse("job", args=[job.code]))
    kit = kit_label.by_code(text) or Kit.objects.filter(code__iexact=text).first()
    if kit is not None:
        return About("kit", f"Kit {kit.code}", (kit.subject,), reverse("kit", args=[kit.code]))
    site = Site.objects.filter(place__code__iexact=text).select_related("place").first()
    return _site(site) if site is not None else None


def _site(site: Site) -> About:
    kits = [kit.subject for kit in Kit.objects.filter(job__site=site)]
    code = site.place.code
    came = Installed.objects.filter(site=site.place, event__reversed_by=None)
    return About(
        "site",
        site.place.name,
        (f"site:{code}", *kits),
        reverse("site", args=[code]),
        tuple(came.values_list("event", flat=True).distinct()),
        tuple(came.exclude(unit=None).values_list("unit", flat=True)),
    )
