"""The site, but each answer to events waits a moment after its commit: room for a kill to land."""

import time
from collections.abc import Callable, Iterable
from typing import Any

from kitting.wsgi import application as site

PAUSE = 0.05  # seconds


def application(environ: dict[str, Any], start_response: Callable[..., Any]) -> Iterable[bytes]:
    """WSGI: the view has returned, so all it took is committed; nothing has been sent yet."""
    answer: Iterable[bytes] = site(environ, start_response)
    if environ["PATH_INFO"] == "/api/events":
        time.sleep(PAUSE)
    return answer
