"""Pages that come at once and fetch what takes long: what they say meanwhile, and what they ask."""

from __future__ import annotations

import re
from html import unescape

from django.test import Client


def comes_later(client: Client, where: str, page: str, part: str) -> str:
    """The answer to what a page at `where` asks by itself for its part of this id.

    Raises AssertionError where the part does not say that it is being worked out, asks for nothing,
    or what comes is no such part or still waits.
    """
    [opening] = re.findall(rf'<[^>]* id="{part}"[^>]*>', page)
    for said in ('aria-busy="true"', 'hx-trigger="load"', f'hx-select="#{part}"'):
        assert said in opening, (said, opening)
    waiting = page.split(opening)[1]
    assert re.search(r'<p role="status">Being worked out; [^<]+', waiting), waiting[:400]
    [asked] = re.findall(r'hx-get="([^"]+)"', opening)
    assert unescape(asked).startswith(f"{where}?"), asked
    answer = client.get(unescape(asked)).content.decode()
    [came] = re.findall(rf'<[^>]* id="{part}"[^>]*>', answer)
    assert "aria-busy" not in came, came
    assert "Being worked out" not in answer
    return answer
