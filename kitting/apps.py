"""The upper house: what a job needs, packing, unboxing, fitting; and the site."""

from typing import TYPE_CHECKING

from django.apps import AppConfig
from django.core import checks

if TYPE_CHECKING:
    from inventory.intake import Act
    from inventory.models import Claim

GROWN = (
    *("checksigned", "kitchange", "handline", "survey", "chargereading", "installed"),
    *("runchoice", "pin", "substitute", "substituteend", "bagcontent", "bagpart", "madebag"),
    *(
        "carried",
        "ownbag",
        "vanout",
        "partrequest",
        "partrequeststep",
        "screenreading",
        "busreading",
    ),
    *("whereabouts", "handedover", "ticked", "serving", "turn"),
    *("leadword", "leadwordused"),
)
"""Tables of what people decided or read; no row of them changes."""


class KittingConfig(AppConfig):
    name = "kitting"
    verbose_name = "Kits"

    def ready(self) -> None:
        from inventory import intake, settling
        from kitting import answering, security

        for act in (*_at_the_depot(), *_at_the_site()):
            intake.register(act)
        settling.register(answering.otherwise)
        checks.register(security.cookies_travel_by_https, checks.Tags.security)
        _explain()
        _follow_names()


def _at_the_depot() -> "tuple[Act, ...]":
    from kitting import (
        bags,
        bringing_back,
        donors,
        loading,
        opening,
        parcels,
        picking,
        putting_back,
        requesting,
        unloading,
    )

    return (
        picking.PICK,
        loading.LOAD,
        bringing_back.BRING_BACK,
        putting_back.PUT_BACK,
        opening.OPEN_BOX,
        donors.TAKE_OVER,
        bags.MAKE_BAG,
        bags.OPEN_BAG,
        parcels.PARCEL_FULL,
        requesting.REQUEST,
        requesting.TAKEN,
        requesting.ANSWERED,
        requesting.COME,
        requesting.DROPPED,
        requesting.LEAVE_SHORT,
        unloading.UNLOAD,
        unloading.CARRY_OVER,
    )


def _at_the_site() -> "tuple[Act, ...]":
    from kitting import (
        bus_measuring,
        closing,
        finding_standing,
        fitting,
        handing_over,
        joining,
        problems,
        screens,
        swapping,
        taking_down,
        ticking,
        unboxing,
        using,
        whereabouts,
    )

    return (
        unboxing.UNBOX,
        fitting.FIT,
        fitting.COMMISSION,
        problems.MISSING,
        problems.DAMAGED,
        problems.SURPLUS,
        problems.WRONG,
        using.USE,
        taking_down.TAKE_DOWN,
        swapping.SWAP,
        joining.CHARGE,
        whereabouts.SHOW_WHERE,
        screens.COMPARE,
        bus_measuring.MEASURE_BUS,
        finding_standing.FIND_STANDING,
        closing.CLOSE_KIT,
        handing_over.SIGN_OVER,
        ticking.TICK,
    )


def _explain() -> None:
    """Tell the lower house what only this one knows: subjects, checks, what only grows."""
    from inventory import (
        audit,
        carriage,
        claim_files,
        claim_needs,
        digest,
        handing_out,
        labelling,
        look_back,
        returning,
        subjects,
        waiting_for,
    )
    from inventory.bringing import kinds
    from inventory.models import guard
    from kitting import (
        access,
        box_letters,
        calling_crews,
        checking,
        claim_facts,
        counted,
        families,
        job_tracing,
        kit_label,
        overviews,
        tables_out,
        waiting,
        whereabouts,
    )
    from kitting.bringing import installed, jobs

    # When an edition came into use is all of it that may change.
    guard.watch("kitting_familyedition", "id", *families.KEPT)
    for grown in GROWN:
        guard.watch(f"kitting_{grown}")
    subjects.register("site", subjects.Sort(access.site_subject_read, overviews.site_names))
    subjects.register(whereabouts.PREFIX, subjects.Sort(whereabouts.may_see, whereabouts.names))
    subjects.register("kit", subjects.Sort(access.subject_read, overviews.kit_names))
    waiting_for.register(waiting.waits_for)
    look_back.register(job_tracing.about)
    labelling.register_mark(box_letters.mark_of)
    labelling.register(kit_label.KIND, kit_label.label_by_number)
    carriage.register(families.is_battery)
    returning.register_renewed(families.is_renewed)
    claim_needs.register(claim_facts.of)
    claim_files.register(_claim_file)
    kinds.register(jobs.JOBS)
    kinds.register(installed.INSTALLED)
    calling_crews.register()
    for name, table in tables_out.TABLES.items():
        handing_out.register(name, table)
    for check in checking.CHECKS:
        audit.register_check(check)
    audit.register_rebuild(checking.rebuild)
    for name, rows in counted.SECTIONS.items():
        digest.register_section(name, rows)


def _follow_names() -> None:
    """An own bag is called as its person is."""
    from inventory import catalogue
    from kitting import standing_list

    catalogue.register_named(standing_list.called)


def _claim_file(claim: "Claim", size: str) -> bytes:
    """Load what draws sheets only when a claim is packed: it is slow to load."""
    from kitting import claim_file

    return claim_file.packed(claim, size)
