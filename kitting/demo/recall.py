"""A maker's letter comes: its rule is typed in, looked at, frozen; crew and house are called."""

from __future__ import annotations

from inventory.models import Notice
from kitting.demo.stage import Stage
from kitting.demo.visitor import Unexpected
from kitting.models import Site

# Two at a house, one on the van; of the last the letter's own list has an O where a 0 may be.
RULE = "model LR-UNIT; prefix RU26-003\nmodel LR-UNIT; serials RU26-0119, RU26-O142"
LETTER = {"letter": "FN 2026-11", "wrong": "may overheat when charged", "rule": RULE}
STANDS = "RU26-0031"  # one of the two at a house
AT_THE_HOUSE = "+44 1632 960118"  # Ofcom keeps 01632 960000 to 960999 for stories: nobody's


def freeze(stage: Stage) -> None:
    """Enter the letter, look at what it names, set that aside."""
    mona = stage.workers["mona"]
    site = Site.objects.get(place__children__units__serial=STANDS).place
    mona.browser.post(f"/sites/{site.code}/", {"phone": AT_THE_HOUSE})
    answer = mona.browser.post("/recalls/", LETTER)
    if not answer.location:
        raise Unexpected(f"a letter: expected to be sent on, got {answer.words[:600]}")
    page = mona.browser.open(answer.location)
    for words in ("At a site: 2", "Packed for a kit: 1", "1 to look at"):
        if words not in page.words:
            raise Unexpected(f"a letter: expected {words!r} on its page, got {page.words[:900]}")
    stage.say(mona.name, "enters a recall letter: three are named, of one nobody can tell")
    notice = Notice.objects.get()
    mona.hand.subject = notice.subject
    frozen = mona.tap("notice_freeze", kind="1")
    mona.hand.subject = ""
    stage.aside(frozen["sentence"])
