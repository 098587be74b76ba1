"""Links that lead somebody to a page which is not for them."""

from __future__ import annotations

import csv
import re
from functools import cache
from html import unescape
from pathlib import Path
from urllib.parse import unquote_plus

from django.urls import Resolver404, resolve

LINK = re.compile(r'<a [^>]*href="(/[^"?#]*)')
# What a browser is told to ask for: any attribute, header or text of JSON that is an address here.
ASKED = re.compile(r'["\'](/[^"\'<>\s]*)["\']')
TABLE = (Path(__file__).parent / "cast.csv").read_text(encoding="utf-8")
OPEN = {
    (row["route"], member)
    for row in csv.DictReader(TABLE.splitlines())
    for member, status in row.items()
    if row["method"] == "GET" and status in ("200", "302")
}


@cache
def route_of(address: str) -> str:
    """The route behind an address, empty for none."""
    try:
        return resolve(address).url_name or ""
    except Resolver404:
        return ""


def told(html: str, personal: set[str]) -> list[str]:
    """The addresses on a page in which a name, number or token stands: they end up in logs.

    Source: OWASP ASVS 5.0, 14.2.1.
    """
    asked = {unquote_plus(unescape(one)).casefold() for one in ASKED.findall(html)}
    one_of = re.compile(rf"\b(?:{'|'.join(map(re.escape, sorted(personal)))})\b")
    return sorted(filter(one_of.search, asked))


def closed(html: str, member: str) -> list[str]:
    """The addresses that this page of a member links to and tests/cast.csv keeps from them."""
    links = {link for link in LINK.findall(html) if not link.startswith("/static/")}
    return sorted(link for link in links if (route_of(link), member) not in OPEN)
