"""The lower house: what we have, where it is, each serial's chain."""

from collections.abc import Sequence
from typing import Any

from django.apps import AppConfig
from django.core.checks import CheckMessage, Error, Tags, register
from django.db import connections
from django.db.models.signals import post_migrate


class InventoryConfig(AppConfig):
    name = "inventory"
    verbose_name = "Stock"

    def ready(self) -> None:
        from inventory import (
            access,
            audit,
            carriage,
            charging,
            claiming,
            claims,
            counting,
            delivery_names,
            door,
            goods_in,
            intake,
            pieces,
            reading_labels,
            refilling,
            returning,
            sampling,
            sending,
            setting_aside,
            shelving,
            subjects,
            undoing,
        )

        for act in (
            goods_in.RECEIVE,
            shelving.PUT,
            counting.COUNT,
            setting_aside.SET_ASIDE,
            setting_aside.RELEASE,
            undoing.UNDO,
            door.COUNT_BOXES,
            door.PALLET_PHOTO,
            door.BAD_BOX,
            door.REFUSE_BOX,
            door.DRIVER_GONE,
            sampling.SAMPLE_BAG,
            claims.TELL,
            claims.END,
            pieces.MAKE_PIECE,
            refilling.EMPTY_BIN,
            charging.CHARGED,
            charging.LET_THROUGH,
            *returning.ACTS,
            carriage.PACKING,
            *sending.ACTS,
            *claiming.ACTS,
            reading_labels.LABEL_SAYS,
        ):
            intake.register(act)
        _files()
        _recalls()
        _printing()
        audit.register_rebuild(charging.rebuild)
        for prefix, names in delivery_names.SORTS.items():
            subjects.register(prefix, subjects.Sort(access.desk_only, names))
        # Migrations rebuild tables on SQLite and drop triggers with them: put them back each time.
        post_migrate.connect(_guard_again, sender=self)
        register(_guard_stands, Tags.database)


def _files() -> None:
    """Let files be brought in and tables handed out, and say which kinds of them."""
    from inventory import handing_out, intake, tables_out
    from inventory.bringing import (
        acting,
        codes,
        items,
        kinds,
        labels,
        partners,
        places,
        serials,
        stock,
    )

    intake.register(acting.BRING_IN)
    for kind in (
        items.ITEMS,
        codes.CODES,
        labels.LABELS,
        partners.SUPPLIERS,
        places.PLACES,
        stock.STOCK,
        serials.SERIALS,
    ):
        kinds.register(kind)
    for name, table in tables_out.TABLES.items():
        handing_out.register(name, table)


def _printing() -> None:
    """Let badges, returns and commands have labels, what was printed count in the digest, a code
    that nobody knew be taught, and a problem be answered."""
    from inventory import (
        badges,
        digest,
        intake,
        label_printing,
        labelling,
        settling,
        taking_over,
        teaching,
    )

    for act in (taking_over.BADGE, teaching.TEACH, teaching.CONFIRM, settling.SETTLE):
        intake.register(act)
    labelling.register(badges.KIND, badges.label_by_number)
    labelling.register("return", labelling.return_by_number)
    labelling.register("command", labelling.command_by_number)
    for name, rows in label_printing.SECTIONS.items():
        digest.register_section(name, rows)


def _recalls() -> None:
    """Let recalls set things aside, and let what arrives be judged by them."""
    from inventory import audit, digest, freezing, intake, newcomers, notice_record, notices
    from inventory.models import guard

    for act in (*freezing.ACTS, *notices.ACTS):
        intake.register(act)
    newcomers.register(freezing.judge_new)
    for check in notice_record.CHECKS:
        audit.register_check(check)
    for name, rows in notice_record.SECTIONS.items():
        digest.register_section(name, rows)
    # The note of a recall can be erased; nothing else of it changes.
    guard.watch("inventory_notice", "id", *notices.KEPT)


def _guard_again(using: str, **kwargs: Any) -> None:
    from inventory.models import guard

    guard.install(connections[using])


def _guard_stands(databases: Sequence[str] | None = None, **kwargs: Any) -> list[CheckMessage]:
    from inventory.models import guard

    return [
        Error(f"The trigger {name} is missing: run migrate.", id="inventory.E001")
        for using in databases or []
        if "inventory_event" in connections[using].introspection.table_names()
        for name in guard.missing(connections[using])
    ]
