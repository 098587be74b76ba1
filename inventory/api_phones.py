"""What phones alone ask of the API: who is signed in by now, and photos in pieces."""

from __future__ import annotations

from collections.abc import Mapping
from typing import IO, Any

from django.conf import settings
from django.http import Http404
from django.middleware.csrf import get_token
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import extend_schema, inline_serializer
from rest_framework import serializers
from rest_framework.decorators import api_view, parser_classes
from rest_framework.exceptions import ParseError
from rest_framework.parsers import BaseParser
from rest_framework.request import Request
from rest_framework.response import Response

from inventory import arriving_photos
from inventory.access import person_of, photo_read, subject_read
from inventory.api_errors import Busy, Unprocessable, problems
from inventory.models import Person
from inventory.pictures.errors import PhotoRefused

MOST_BYTES = 100_000  # of one piece


class PieceParser(BaseParser):
    """Reads one piece of a photo."""

    media_type = "application/octet-stream"

    def parse(
        self,
        stream: IO[bytes],
        media_type: str | None = None,
        parser_context: Mapping[str, Any] | None = None,
    ) -> dict[str, Any]:
        """Return the bytes as `piece`. Raises ParseError for more than MOST_BYTES."""
        data = stream.read(MOST_BYTES + 1)
        if len(data) > MOST_BYTES:
            raise ParseError(f"expected a piece of at most {MOST_BYTES:,} bytes, got more")
        return {"piece": data}


class PieceSerializer(serializers.Serializer[Any]):
    """Which piece of how large a photo."""

    at = serializers.IntegerField(min_value=0, default=0, help_text="bytes before this piece")
    size = serializers.IntegerField(min_value=1, help_text="bytes of the whole photo")
    subject = serializers.CharField(
        max_length=60, required=False, allow_blank=True, help_text='"kit:<code>"'
    )


@extend_schema(
    operation_id="photo_piece",
    parameters=[PieceSerializer],
    request={"application/octet-stream": OpenApiTypes.BINARY},
    responses={
        200: inline_serializer(
            "PhotoSoFar", {"have": serializers.IntegerField(help_text="bytes that are here")}
        ),
        **problems(400, 403, 404, 415, 422, 503),
    },
)
@api_view(["POST"])
@parser_classes([PieceParser])
def api_photo_piece(request: Request, sha256: str) -> Response:
    """Take a piece of a photo, none to ask what is here; events name the photo by this SHA-256.

    It is the hash of the bytes that are sent; what is kept is a new JPEG without its metadata.
    """
    person = person_of(request)
    asked = PieceSerializer(data=request.query_params)
    asked.is_valid(raise_exception=True)
    at, size = asked.validated_data["at"], asked.validated_data["size"]
    subject = asked.validated_data.get("subject", "")
    if subject and not subject_read(person, subject):
        raise Http404
    if size > settings.PHOTO_MAX_BYTES:
        most = f"expected a photo of at most {settings.PHOTO_MAX_BYTES:,} bytes, got {size:,}"
        raise Unprocessable("size", most)
    if _is_here(person, sha256):
        return Response({"have": size})
    piece = request.data.get("piece", b"") if isinstance(request.data, dict) else b""
    try:
        have = arriving_photos.add_piece(person, sha256, piece, at, size, subject)
    except PhotoRefused as refusal:
        if refusal.kind == "busy":
            raise Busy(refusal.message) from refusal
        raise Unprocessable("photo", refusal.message) from refusal
    return Response({"have": have})


def _is_here(person: Person, sha256: str) -> bool:
    """Whether this photo is kept already; of one that the person may not see nothing is told."""
    try:
        return photo_read(person, sha256) is not None
    except Http404:
        return False


@extend_schema(
    responses={
        200: inline_serializer(
            "SignedIn", {"person": serializers.UUIDField(), "token": serializers.CharField()}
        ),
        **problems(403),
    }
)
@api_view(["GET", "HEAD"])
def api_signed_in(request: Request) -> Response:
    """Say who is signed in, with a fresh CSRF token: a page may have been open through a change."""
    person = person_of(request)
    return Response({"person": str(person.uid), "token": get_token(request)})
