"""The API of the upper house: jobs a person may see, a kit's lines with how far each has come."""

from __future__ import annotations

import gzip
import json
from typing import Any
from uuid import UUID

from django.http import HttpResponse
from django.utils import timezone
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework import serializers
from rest_framework.decorators import api_view
from rest_framework.exceptions import PermissionDenied
from rest_framework.request import Request
from rest_framework.response import Response

from inventory.access import person_of
from inventory.api_errors import problems
from inventory.models import Role
from inventory.session_life import ends_at
from kitting import asked_for, phone_codes
from kitting.access import at_desk, jobs_of, kit_read
from kitting.models import Job
from kitting.progress import fold
from kitting.tallies import LineProgress

FIGURES = ("needed", "in_boxes", "on_van", "picked", "loaded", "seen", "done", "missing", "damaged")


class ReasonSerializer(serializers.Serializer[Any]):
    """Why a line is there."""

    need = serializers.CharField()
    rule = serializers.CharField()
    arithmetic = serializers.CharField()
    source = serializers.CharField()  # type: ignore[assignment]  # the metaclass takes it away
    quantity = serializers.IntegerField(required=False, help_text="base units by this reason")
    place = serializers.CharField(required=False, help_text='"stack 1", "system"')
    by = serializers.CharField(required=False, help_text="item that brings the need with it")


class LineSerializer(serializers.Serializer[Any]):
    """One line; all figures in the item's base unit."""

    item = serializers.CharField()
    name = serializers.CharField()
    unit = serializers.CharField()
    step = serializers.CharField()
    state = serializers.CharField()
    needed = serializers.IntegerField()
    in_boxes = serializers.IntegerField(help_text="comes in the box of another thing")
    on_van = serializers.IntegerField(help_text="what the van and own bags always carry")
    picked = serializers.IntegerField()
    loaded = serializers.IntegerField()
    seen = serializers.IntegerField()
    done = serializers.IntegerField(help_text="fitted or used")
    missing = serializers.IntegerField()
    damaged = serializers.IntegerField()
    reasons = ReasonSerializer(many=True)


class KitSerializer(serializers.Serializer[Any]):
    """A kit with its lines."""

    uid = serializers.UUIDField()
    code = serializers.CharField()
    job = serializers.CharField()
    subject = serializers.CharField(help_text="how events name it")
    released = serializers.BooleanField()
    closed = serializers.BooleanField()
    lines = LineSerializer(many=True)
    cautions = serializers.ListField(child=serializers.DictField())


class JobSerializer(serializers.Serializer[Any]):
    """A job."""

    code = serializers.CharField()
    kind = serializers.CharField()
    date = serializers.DateField()
    van = serializers.CharField(allow_blank=True)
    crew = serializers.ListField(child=serializers.CharField())
    kit = serializers.UUIDField(allow_null=True)


@extend_schema(responses={200: JobSerializer(many=True), **problems(403)})
@api_view(["GET", "HEAD"])
def api_jobs(request: Request) -> Response:
    """List the jobs this person may see: all at the desk, a technician's own."""
    jobs = jobs_of(person_of(request)).prefetch_related("crew", "kits").order_by("date", "code")
    return Response([_job(job) for job in jobs])


@extend_schema(responses={200: KitSerializer, **problems(403, 404)})
@api_view(["GET", "HEAD"])
def api_kit(request: Request, uid: UUID) -> Response:
    """Give a kit's lines with how far each has come."""
    kit = kit_read(person_of(request), uid)
    return Response(
        {
            "uid": str(kit.uid),
            "code": kit.code,
            "job": kit.job.code,
            "subject": kit.subject,
            "released": kit.released_at is not None,
            "closed": kit.closed_by_id is not None,
            "lines": [_line(row) for row in fold(kit).lines],
            "cautions": kit.snapshot["cautions"],
        }
    )


class RequestSerializer(serializers.Serializer[Any]):
    """Something a crew asked for that nobody has taken."""

    code = serializers.CharField()
    subject = serializers.CharField()
    words = serializers.CharField(help_text="what is asked for, and for which job")


@extend_schema(responses={200: RequestSerializer(many=True), **problems(403)})
@api_view(["GET", "HEAD"])
def api_requests(request: Request) -> Response:
    """List what rings at the bench: asked for by a crew and taken by nobody."""
    if not at_desk(person_of(request)):
        raise PermissionDenied
    return Response(
        [
            {
                "code": one.request.code,
                "subject": one.request.kit.subject,
                "words": f"{one.request.kit.job.code} needs {one.what}",
            }
            for one in asked_for.open_ones()
            if one.rings
        ]
    )


class PhoneCodesSerializer(serializers.Serializer[Any]):
    """What a phone can say of a code without signal; see kitting/phone_codes.py."""

    version = serializers.CharField(help_text="also the ETag")
    person = serializers.UUIDField()
    jobs = serializers.ListField(
        child=serializers.DictField(),
        help_text="{code, subject, counts: item number -> [needed, seen, words, where]}",
    )
    items = serializers.ListField(child=serializers.CharField(), help_text="names")
    things = serializers.ListField(
        child=serializers.ListField(),
        help_text="[kind, item number or null, words, where, number of its job or -1, state, keys];"
        " state: 0 not yet, 1 loaded, 2 seen at the site, 3 fitted, 4 set aside",
    )
    unclear = serializers.ListField(child=serializers.CharField(), help_text="keys of two things")
    others = serializers.ListField(
        child=serializers.CharField(),
        help_text='first 12 hexadecimal digits of SHA-256 of "<person> <key>": another job\'s',
    )


@extend_schema(
    parameters=[OpenApiParameter("If-None-Match", str, "header")],
    responses={200: PhoneCodesSerializer, 304: None, **problems(403)},
)
@api_view(["GET", "HEAD"])
def api_my_codes(request: Request) -> HttpResponse:
    """Give a technician's phone the tables of the own jobs; 304 where it has them already.

    Pressed with gzip where the phone takes it: no secret of the session stands in them. Header
    X-Session-Ends: when the person has to sign in again, in seconds since 1970.
    """
    person = person_of(request)
    if not person.has(Role.TECHNICIAN):
        raise PermissionDenied
    tables = phone_codes.tables_of(person, timezone.localdate())
    tag = f'"{tables["version"]}"'
    same = tag in request.headers.get("If-None-Match", "")
    answer = HttpResponse(status=304) if same else HttpResponse(content_type="application/json")
    if not same:
        body = json.dumps(tables, separators=(",", ":"), ensure_ascii=False).encode()
        answer.headers["Vary"] = "Accept-Encoding"
        if "gzip" in request.headers.get("Accept-Encoding", ""):
            body = gzip.compress(body, 6, mtime=0)
            answer.headers["Content-Encoding"] = "gzip"
        answer.content = body
    answer.headers["ETag"] = tag
    answer.headers["X-Session-Ends"] = str(ends_at(request))
    return answer


def _job(job: Job) -> dict[str, Any]:
    kits = sorted(job.kits.all(), key=lambda kit: kit.revision)
    return {
        "code": job.code,
        "kind": job.kind,
        "date": job.date.isoformat(),
        "van": job.van.name if job.van else "",
        "crew": [person.name for person in job.crew.all()],
        "kit": str(kits[-1].uid) if kits else None,
    }


def _line(row: LineProgress) -> dict[str, Any]:
    line = row.line
    told = {"item": line.item.code, "name": line.item.name, "unit": line.unit, "step": line.step}
    figures = {name: getattr(row, name) for name in FIGURES}
    return told | {"state": row.state, "reasons": line.reasons} | figures
