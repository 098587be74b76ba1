"""A crew finds three feet where four are told; the warehouse takes them besides until one is right.

Seconds for a touch and a character are assumed, see counting_hands.
"""

from collections.abc import Iterator
from typing import Any

import pytest

from inventory import audit
from inventory.models import Event, Finding
from kitting.demo.opening import Opening
from kitting.progress import fold
from tests.stories import the_firm
from tests.stories.counting_hands import Hands

pytestmark = pytest.mark.django_db


@pytest.fixture(scope="module")
def opened(django_db_setup: None, django_db_blocker: Any) -> Iterator[Opening]:
    """The firm with the tower's stock in its bins; each test's own changes go again."""
    with django_db_blocker.unblock(), the_firm.scene(stock="CT-") as found:
        yield found


def test_a_box_found_different_at_one_site_changes_the_next_kit(opened: Opening) -> None:
    """One number typed on the phone; on the bench one scan and one touch set it right again."""
    kit = the_firm.release(opened, "tower")
    before = fold(kit).totals["CT-FOOT"]
    assert before.in_boxes >= 4  # a spare base brings feet of its own
    crew = opened.people[next(j for j in opened.firm.jobs if j.key == "tower").crew[0]]
    site = Hands(crew).begin(f"/my/{kit.job.code}/unbox")
    assert "In the boxes" in site.page.words
    form = site.page.form_with("Tell it", "CT-FOOT")
    form.fields["quantity"] = "3"
    site.touches, site.typed = 2, 1  # the number is opened and typed
    assert site.press("Tell it", "CT-FOOT") == "problem", site.said
    print(f"a box in doubt: {site.touches} touches, {site.typed} character")
    assert (site.touches, site.typed) == (3, 1)
    assert "held 3 x" in Finding.objects.get(kind="box").words

    desk = Hands(opened.people["wanda"]).begin(f"/kits/{kit.code}/pick")
    assert "Not relied on" in desk.page.words
    assert fold(kit).totals["CT-FOOT"].to_pick == before.to_pick + before.in_boxes
    desk.follow("Open another box")
    assert "in doubt" in desk.page.words
    desk.choose("kind", "as_told")
    assert desk.scan("CT-BASE") == "applied", desk.said
    assert (desk.scans, desk.touches, desk.typed) == (1, 2, 0)
    desk.begin("/boxes/")
    assert "in doubt" not in desk.page.words
    assert fold(kit).totals["CT-FOOT"].to_pick == before.to_pick

    desk.begin("/trace/?code=CT-BASE")
    assert "held 3 x" in desk.page.words
    assert Event.objects.filter(step="open_box").count() == 2
    assert [done.problems for done in audit.run() if done.problems] == []
