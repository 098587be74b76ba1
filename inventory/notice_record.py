"""What the digest reads of recalls, and what the audit checks of them."""

from collections.abc import Iterable

from inventory.checks.report import Check, Report
from inventory.digest import Row
from inventory.models import (
    CallAnswer,
    Notice,
    NoticeCall,
    NoticeEnd,
    NoticeFreeze,
    NoticeHit,
    NoticeRule,
    NoticeUnseen,
)
from inventory.naming import hits
from inventory.notices import frozen_rules, held_by

HOLD = (
    "hold__event__uid",
    "hold__unit__item__code",
    "hold__unit__serial_key",
    "hold__lot__item__code",
    "hold__lot__key",
    "hold__place__code",
)


def _calls() -> Iterable[Row]:
    return NoticeCall.objects.values_list(
        "notice__code", "number", "event__uid", "place__code", "subject"
    )


def _call_holds() -> Iterable[Row]:
    through = NoticeCall.holds.through.objects
    call = ("noticecall__notice__code", "noticecall__number")
    return through.values_list(*call, *HOLD)


SECTIONS = {
    "recalls": lambda: Notice.objects.values_list(
        "code", "partner__code", "letter", "words", "by__username"
    ),
    "recall rules": lambda: NoticeRule.objects.values_list(
        "notice__code", "version", "text", "by__username"
    ),
    "recalls frozen": lambda: NoticeFreeze.objects.values_list(
        "event__uid", "rule__notice__code", "rule__version", "done"
    ),
    "recalled things": lambda: NoticeHit.objects.values_list("notice__code", "why", *HOLD),
    "recall calls": _calls,
    "recall calls about": _call_holds,
    "recall calls about what is unseen": lambda: NoticeUnseen.objects.values_list(
        "call__notice__code", "call__number", "event__uid", "item__code", "words", "why"
    ),
    "recall calls answered": lambda: CallAnswer.objects.values_list(
        "call__notice__code", "call__number", "event__uid", "kind"
    ),
    "recalls over": lambda: NoticeEnd.objects.values_list("notice__code", "event__uid"),
}


def all_set_aside() -> Report:
    """What a frozen rule names was set aside; a thing put right stays free."""
    report = Report(read=NoticeFreeze.objects.count())
    for rule in frozen_rules():
        known = held_by(rule.notice)
        for hit in hits(rule.text):
            thing = f"{'unit' if hit.unit else 'batch'} {hit.serial}"
            there = (hit.unit, hit.lot) in known
            report.expect(there, f"recall {rule.notice.code} names {thing}: it is not set aside")
    return report


def reasons() -> Report:
    """What a recall set aside says so, and was set aside after the recall was frozen."""
    report = Report()
    rows = NoticeHit.objects.select_related("notice", "hold__event")
    for hit in rows.iterator(chunk_size=2000):
        report.read += 1
        says = hit.hold.reason.startswith(f"Recall {hit.notice.code}:")
        report.expect(says, f"hold {hit.hold_id} of recall {hit.notice.code} says something else")
        frozen = NoticeFreeze.objects.filter(
            rule__notice=hit.notice, event__number__lte=hit.hold.event.number
        )
        early = f"recall {hit.notice.code} set something aside before it was frozen"
        report.expect(frozen.exists(), early)
    return report


CHECKS = (
    Check("what a recall names is set aside", NoticeFreeze, all_set_aside),
    Check("holds of recalls say so", NoticeHit, reasons),
)
