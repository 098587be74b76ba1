"""How the API says no: problem documents (RFC 9457) with one more key, `where`.

APIException (400 unreadable, 403 not allowed, 404 not there)
 |- Conflict 409       another content came under this id before
 |- Unprocessable 422  readable, but a value is wrong; `where` names the field or line
 `- Busy 503           too much at once: the same again later
"""

from typing import Any

from django.core.exceptions import PermissionDenied, RequestDataTooBig
from django.http import Http404
from drf_spectacular.utils import OpenApiResponse
from rest_framework import serializers
from rest_framework.exceptions import APIException, ValidationError
from rest_framework.response import Response

CONTENT_TYPE = "application/problem+json"  # RFC 9457
TITLES = {
    400: "The request cannot be read",
    403: "Not allowed",
    404: "Not there",
    405: "No such method here",
    406: "No such form of answer",
    409: "Another content came under this id",
    415: "The request has the wrong content type",
    422: "A value is wrong",
    500: "Something broke here",
    503: "Too much at once",
}


class Unprocessable(APIException):
    """Readable, but a value is wrong: `detail` says expected and got, `where` the field."""

    status_code = 422

    def __init__(self, where: str, detail: str) -> None:
        super().__init__(detail)
        self.where = where


class Conflict(APIException):
    """Another content came under this id before; nothing was changed."""

    status_code = 409

    def __init__(self, where: str, detail: str) -> None:
        super().__init__(detail)
        self.where = where


class Busy(APIException):
    """Too much at once; nothing is wrong with what came."""

    status_code = 503

    def __init__(self, detail: str) -> None:
        super().__init__(detail)
        self.where = ""


class ProblemSerializer(serializers.Serializer[Any]):
    """One refusal."""

    type = serializers.CharField(help_text="about:blank; the status says what sort it is")
    title = serializers.CharField(help_text="what the status means")
    detail = serializers.CharField(help_text="expected X, got Y")
    where = serializers.CharField(help_text="field, line or header; empty for the whole request")


def problems(*statuses: int) -> dict[tuple[int, str], OpenApiResponse]:
    """Return the documentation of these refusals, each under (status, content type)."""
    return {
        (status, CONTENT_TYPE): OpenApiResponse(ProblemSerializer, description=TITLES[status])
        for status in statuses
    }


def handler(error: Exception, context: dict[str, Any]) -> Response | None:
    """Answer an error raised in an API view; what is no refusal of ours passes on (500)."""
    status, where, detail = _described(error)
    if status == 0:
        return None
    body = {
        "type": "about:blank",
        "title": TITLES.get(status, "Refused"),
        "detail": detail,
        "where": where,
    }
    return Response(body, status, content_type=CONTENT_TYPE)


def _described(error: Exception) -> tuple[int, str, str]:
    if isinstance(error, Http404):
        return 404, "", "There is nothing here."
    if isinstance(error, PermissionDenied):
        return 403, "", "You may not do this."
    if isinstance(error, RequestDataTooBig):
        return 400, "", "expected a smaller body, got more bytes than a request may have"
    if isinstance(error, ValidationError):
        return 422, *_first(error.detail)
    if isinstance(error, APIException):
        return error.status_code, getattr(error, "where", ""), str(error.detail)
    return 0, "", ""


def _first(detail: object) -> tuple[str, str]:
    """The first fault of a validation, as (field, words)."""
    if isinstance(detail, dict):
        name, inner = next(iter(detail.items()))
        where, words = _first(inner)
        own = "" if name == "non_field_errors" else str(name)
        return ".".join(filter(None, (own, where))), words
    if isinstance(detail, list):
        return _first(detail[0])
    return "", str(detail)
