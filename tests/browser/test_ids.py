"""Ids made by a browser are those of RFC 9562 section 5.7."""

import time
import uuid

from playwright.sync_api import Page

MAKE = """() => import("/static/inventory/ids.js").then(({ uuid7 }) =>
    Array.from({ length: 200 }, () => uuid7()))"""


def test_ids_are_version_seven_and_carry_the_time(page: Page, live_server) -> None:
    """Version and variant as the standard has them, by Python's own reader; no two alike."""
    page.goto(f"{live_server.url}/sign-in")
    made = [uuid.UUID(text) for text in page.evaluate(MAKE)]

    assert {one.version for one in made} == {7}
    assert {one.variant for one in made} == {uuid.RFC_4122}
    assert len(set(made)) == 200
    assert all(abs((one.int >> 80) - time.time() * 1000) < 60_000 for one in made)
