"""The API of the lower house: events in, devices, photos and notes beside them.

Signed-in sessions with the CSRF token in X-CSRFToken; a stranger gets 403 everywhere.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import IO, Any

from django.conf import settings
from django.core.files.uploadedfile import UploadedFile
from django.http import Http404
from django.utils import timezone
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import extend_schema, inline_serializer
from rest_framework import serializers
from rest_framework.decorators import api_view, parser_classes
from rest_framework.exceptions import ParseError
from rest_framework.parsers import BaseParser, MultiPartParser
from rest_framework.request import Request
from rest_framework.response import Response

from inventory import intake, noting, one_label, photos, security_log
from inventory.access import person_of, subject_read
from inventory.api_errors import Conflict, Unprocessable, problems
from inventory.ledger.ids import uuid7
from inventory.ledger.line import MARK
from inventory.models import Device
from inventory.pictures.errors import PhotoRefused
from inventory.queries import gaps_of, holds_mark, latest_mark, numbers_of

MOST_LINES = 200
MOST_BYTES = 1_000_000  # of one batch


class LinesParser(BaseParser):
    """Reads newline-delimited JSON as the exact bytes of each line; empty lines are left out."""

    media_type = "application/x-ndjson"

    def parse(
        self,
        stream: IO[bytes],
        media_type: str | None = None,
        parser_context: Mapping[str, Any] | None = None,
    ) -> dict[str, list[bytes]]:
        """Return the lines. Raises ParseError for more than MOST_BYTES."""
        data = stream.read(MOST_BYTES + 1)
        if len(data) > MOST_BYTES:
            raise ParseError(f"expected a batch of at most {MOST_BYTES:,} bytes, got more")
        lines = data.replace(b"\r\n", b"\n").split(b"\n")
        return {"lines": [line for line in lines if line.strip()]}


class ResultSerializer(serializers.Serializer[Any]):
    """What became of one line."""

    line = serializers.IntegerField(help_text="1 = first of the batch")
    id = serializers.CharField()
    verdict = serializers.ChoiceField(
        ["applied", "noted", "problem", "dispute", "stopped", "waiting", "refused"]
    )
    sentence = serializers.CharField()
    number = serializers.IntegerField(help_text="ledger number, 0 when not stored")
    duplicate = serializers.BooleanField()
    kind = serializers.CharField(help_text="of a refusal: malformed, not_allowed, other_body")
    thing = serializers.DictField(child=serializers.CharField())


class MarkSerializer(serializers.Serializer[Any]):
    """The record mark: head of the Merkle tree (RFC 9162) over all entries so far."""

    size = serializers.IntegerField()
    root = serializers.CharField()  # type: ignore[assignment]  # the metaclass takes it away


NOTED = rf"\A{MARK}\Z"
HOLDS = (
    "whether the record is still the one whose mark the device noted; where not, the server was put"
    " back from an old copy and has not all that it answered, whatever the numbers say"
)


class AnswerSerializer(serializers.Serializer[Any]):
    """The answer to a batch."""

    results = ResultSerializer(many=True)
    mark = MarkSerializer()
    missing = serializers.ListField(
        child=serializers.ListField(child=serializers.IntegerField()),
        help_text="numbers of this device that never came, as [first, last]",
    )
    high_water = serializers.IntegerField(
        allow_null=True, help_text="highest number that came from the device asked for"
    )
    holds_mark = serializers.BooleanField(help_text=HOLDS)


class SenderSerializer(serializers.Serializer[Any]):
    """Who sends, and what it knows of: a server put back from an old copy may know less."""

    device = serializers.UUIDField(required=False)
    after = serializers.IntegerField(
        min_value=0,
        default=0,
        help_text="highest number of the device that was answered: a server that has not come so"
        " far takes nothing and answers which numbers it lacks",
    )
    mark = serializers.RegexField(
        NOTED,
        required=False,
        help_text="the record mark of the latest answer, as SIZE:ROOT: a server whose record is"
        " another by now takes nothing either",
    )


@extend_schema(
    parameters=[SenderSerializer],
    request={"application/x-ndjson": OpenApiTypes.STR},
    responses={200: AnswerSerializer, **problems(400, 403, 415, 422)},
)
@api_view(["POST"])
@parser_classes([LinesParser])
def api_events(request: Request) -> Response:
    """Take up to 200 event lines; each is judged alone and answered by its id."""
    lines: list[bytes] = _data(request).get("lines", [])
    if not 1 <= len(lines) <= MOST_LINES:
        raise Unprocessable("lines", f"expected 1 to {MOST_LINES} lines, got {len(lines)}")
    sender = SenderSerializer(data=request.query_params)
    sender.is_valid(raise_exception=True)
    device, after = sender.validated_data.get("device"), sender.validated_data["after"]
    holds = holds_mark(sender.validated_data.get("mark", ""))
    behind = device is not None and after > numbers_of(device)[0]
    results = [] if behind or not holds else intake.take(person_of(request), lines, timezone.now())
    kinds = [result.kind for result in results if result.kind]
    security_log.events_refused(request, person_of(request), kinds)
    highest, missing = None, gaps_of([result.id for result in results if result.number])
    if device is not None:
        highest, missing = numbers_of(device)
    return Response(
        {
            "results": [result.as_json() for result in results],
            "mark": latest_mark(),
            "missing": missing,
            "high_water": highest,
            "holds_mark": holds,
        }
    )


class DeviceSerializer(serializers.Serializer[Any]):
    """A device that numbers its events; it may bring its own id.

    Answered with what has come from it: a server put back from an old copy lacks some of that.
    """

    device = serializers.UUIDField(required=False)
    label = serializers.CharField(  # type: ignore[assignment]  # the metaclass takes it away
        max_length=120, required=False, allow_blank=True
    )
    noted = serializers.RegexField(
        NOTED,
        required=False,
        write_only=True,
        help_text="the record mark of the latest answer that the device had, as SIZE:ROOT",
    )
    mark = MarkSerializer(read_only=True)
    holds_mark = serializers.BooleanField(read_only=True, help_text=HOLDS)
    high_water = serializers.IntegerField(read_only=True, help_text="highest number that came")
    missing = serializers.ListField(
        child=serializers.ListField(child=serializers.IntegerField()),
        read_only=True,
        help_text="numbers below it that never came, as [first, last]",
    )


@extend_schema(
    request=DeviceSerializer, responses={200: DeviceSerializer, **problems(400, 403, 415, 422)}
)
@api_view(["POST"])
def api_devices(request: Request) -> Response:
    """Register this browser once; the same id again gives the same device."""
    asked = _checked(DeviceSerializer, request)
    device, _ = Device.objects.get_or_create(
        uid=asked.get("device") or uuid7(),
        defaults={"person": person_of(request), "label": asked.get("label", "")},
    )
    if request.session.get("device") != device.pk:
        request.session["device"] = device.pk  # a lost phone is found by what it is called
    highest, missing = numbers_of(device.uid)
    return Response(
        {
            "device": str(device.uid),
            "label": device.label,
            "mark": latest_mark(),
            "holds_mark": holds_mark(asked.get("noted", "")),
            "high_water": highest,
            "missing": missing,
        }
    )


@extend_schema(
    request={
        "multipart/form-data": inline_serializer(
            "PhotoUpload",
            {
                "photo": serializers.FileField(),
                "subject": serializers.CharField(required=False, help_text='"kit:<code>"'),
            },
        )
    },
    responses={
        200: inline_serializer("PhotoStored", {"sha256": serializers.CharField()}),
        **problems(400, 403, 404, 415, 422),
    },
)
@api_view(["POST"])
@parser_classes([MultiPartParser])
def api_photos(request: Request) -> Response:
    """Keep a photo without its metadata; the answer names it for an event's `photo`."""
    person, subject = person_of(request), _subject(request)
    try:
        photo = photos.store(person, _photo(request), settings.PHOTO_MAX_BYTES, subject)
    except PhotoRefused as refusal:
        raise Unprocessable("photo", refusal.message) from refusal
    return Response({"sha256": photo.sha256})


class NoteSerializer(serializers.Serializer[Any]):
    """Words of a person; an event names them by id."""

    id = serializers.UUIDField(required=False)
    text = serializers.CharField(max_length=2000)
    subject = serializers.CharField(max_length=60, required=False, allow_blank=True)


@extend_schema(
    request=NoteSerializer,
    responses={
        200: inline_serializer("NoteKept", {"id": serializers.UUIDField()}),
        **problems(400, 403, 404, 409, 415, 422),
    },
)
@api_view(["POST"])
def api_notes(request: Request) -> Response:
    """Keep a note; the same id with the same words is the same note, with others a conflict."""
    asked = _checked(NoteSerializer, request)
    person, subject = person_of(request), _subject(request)
    note = noting.keep(person, asked.get("id") or uuid7(), asked["text"], subject)
    if note is None:
        raise Conflict("id", "expected the words that came under this id before, got others")
    return Response({"id": str(note.uid)})


@extend_schema(
    request={
        "multipart/form-data": inline_serializer("PhotoToRead", {"photo": serializers.FileField()})
    },
    responses={
        200: inline_serializer(
            "PhotoAnswer",
            {
                "file": serializers.CharField(),
                "codes": serializers.ListField(child=serializers.DictField()),
                "refused": serializers.DictField(allow_null=True),
                "unread": serializers.ListField(child=serializers.DictField()),
                "label": inline_serializer(
                    "LabelOnPhoto",
                    {
                        "codes": serializers.ListField(child=serializers.DictField()),
                        "question": serializers.CharField(allow_blank=True),
                    },
                ),
            },
        ),
        **problems(400, 403, 415, 422),
    },
)
@api_view(["POST"])
@parser_classes([MultiPartParser])
def api_read(request: Request) -> Response:
    """Read every code on a photo; only what is known here exactly is accepted. Nothing is kept.

    `label` says what each code is, the photo being of one label, and which of them is the scan.
    """
    person_of(request)
    upload = _photo(request)
    answer = photos.read(upload, settings.PHOTO_MAX_BYTES)
    label = one_label.classify(answer.codes)
    return Response({**answer.as_json(upload.name or "photo"), "label": label.as_json()})


def _data(request: Request) -> dict[str, Any]:
    """What the parser gave. Raises Unprocessable for JSON that is no object."""
    if not isinstance(request.data, dict):
        raise Unprocessable("", "expected an object with named values")
    return request.data


def _checked(kind: type[serializers.Serializer[Any]], request: Request) -> dict[str, Any]:
    serializer = kind(data=request.data)
    serializer.is_valid(raise_exception=True)
    return dict(serializer.validated_data)


def _photo(request: Request) -> UploadedFile[bytes]:
    upload = request.FILES.get("photo")
    if not isinstance(upload, UploadedFile):
        raise Unprocessable("photo", "expected a file in the field photo, got none")
    return upload


def _subject(request: Request) -> str:
    """What the photo or note is about; 404 for what this person may not see."""
    subject = str(_data(request).get("subject", ""))[:60]
    if subject and not subject_read(person_of(request), subject):
        raise Http404
    return subject
