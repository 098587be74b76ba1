"""What has still to come to a job, on every page of it."""

from typing import Any

from django import template

from kitting import asked_for
from kitting.models import Job, Kit

register = template.Library()


@register.inclusion_tag("kitting/parts/following.html")
def following(job: Job, kit: Kit | None = None) -> dict[str, Any]:
    """What the job left without or asked for and has not got, with who brings it and when.

    kit: as read by `access.kit_read`, which knows whether there is anything to ask about.
    """
    nothing = kit is not None and not getattr(kit, "awaits", True)
    rows = [] if nothing else asked_for.following([job]).get(job.pk, [])
    return {"rows": rows, "job": job}
