"""How a JSON body is read: no larger than a form, no deeper than a person would nest it."""

from __future__ import annotations

import io
from collections.abc import Mapping
from typing import IO, Any

from django.conf import settings
from rest_framework.exceptions import ParseError
from rest_framework.parsers import JSONParser


class SmallJSONParser(JSONParser):
    """JSON of at most DATA_UPLOAD_MAX_MEMORY_SIZE bytes."""

    def parse(
        self,
        stream: IO[bytes],
        media_type: str | None = None,
        parser_context: Mapping[str, Any] | None = None,
    ) -> dict[str, Any]:
        """Return what the body says. Raises ParseError for one too large, too deep or torn."""
        most = settings.DATA_UPLOAD_MAX_MEMORY_SIZE
        data = stream.read(most + 1)
        if len(data) > most:
            raise ParseError(f"expected at most {most:,} bytes, got more")
        try:
            return super().parse(io.BytesIO(data), media_type, parser_context)
        except RecursionError:
            raise ParseError("expected a plain object, got one nested too deep") from None
