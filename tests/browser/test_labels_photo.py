"""A photo of sixty labels, half of them not read: each number on it is told from every other."""

from __future__ import annotations

from itertools import combinations

import pytest
from django.template.loader import render_to_string
from playwright.sync_api import Page, expect

from inventory import photos
from inventory.photographed import Held, Ring, Seen
from inventory.pictures.reading import clean_photo
from tests.browser import bench
from tests.pictures import walls

PARTS = ("inventory/parts/held_photo.html", "inventory/parts/unread_labels.html")
BOXES = """elements => elements.map(element => {
  const { left, top, right, bottom } = element.getBoundingClientRect();
  return [left, top, right, bottom];
})"""


def crowded(served: bench.Bench) -> Held:
    """The wall with every second label found and the others seen."""
    wall = walls.wall(60, "mid", 11)
    photo = photos.keep(served.yard.wanda.person, clean_photo(wall.jpeg))
    held = Held(photo, walls.SIZE)
    for number, (text, box) in enumerate(zip(wall.texts, wall.boxes, strict=True)):
        if number % 2:
            held.found.append(Seen(text, f"Module {text}", box))
        else:
            x, y, wide, high = box
            middle = (x + wide // 2, y + high // 2)
            held.unread.append(Ring(box, middle, (wide // 2, high // 2)))
    return held


@pytest.mark.parametrize(("width", "least"), [(390, 10), (1280, 14)])
def test_numbers_of_a_crowded_photo_do_not_meet(page: Page, live_server, width, least) -> None:
    """At phone and desk; each is high enough to be read, and its words are in the list below."""
    served = bench.served(live_server.url)
    held = crowded(served)
    served.sign_in(page, "wanda")
    page.set_viewport_size({"width": width, "height": 844})
    page.goto(f"{live_server.url}/shelf-photo/")
    filled = "".join(render_to_string(part, {"held": held, "step": "put"}) for part in PARTS)
    page.locator("main").evaluate(
        "(main, html) => main.insertAdjacentHTML('beforeend', html)", filled
    )
    drawn = page.locator(".labels-photo")
    drawn.scroll_into_view_if_needed()
    expect(drawn.locator(".unread text")).to_have_text([str(n) for n in range(1, 31)])
    marks = drawn.locator(".unread circle, .found text").evaluate_all(BOXES)

    assert len(marks) == 60
    for one, two in combinations(marks, 2):
        apart = one[2] <= two[0] or two[2] <= one[0] or one[3] <= two[1] or two[3] <= one[1]
        assert apart, (one, two)
    heights = [b[3] - b[1] for b in drawn.locator("text").evaluate_all(BOXES)]
    assert min(heights) >= least
    expect(page.locator(".cut-outs p").first).to_have_text("Not read 1")
