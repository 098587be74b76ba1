"""A letter entered, for tests."""

from inventory import notices
from inventory.intake import Result
from inventory.models import Hold, Notice
from tests.firm import Firm, Phone

WORDS = "cells may overheat"


def letter(phone: Phone, rule: str) -> Notice:
    """Enter a letter with this rule; nothing is frozen."""
    told = {"letter": "L-77", "words": WORDS, "partner": None, "note": ""}
    return notices.enter(phone.person, rule=rule, **told)


def freeze(phone: Phone, notice: Notice) -> Result:
    """Freeze its newest rule."""
    version = notices.latest_rule(notice).version
    return phone.scan("notice_freeze", subject=notice.subject, kind=str(version), via="tap")


def held(shop: Firm) -> list[str]:
    """Serials and batches that are set aside, in the order in which it was done."""
    rows = Hold.objects.filter(release=None).order_by("pk").select_related("unit", "lot", "place")
    return [
        (row.unit.serial if row.unit else row.lot.number if row.lot else str(row.place))
        for row in rows
    ]
