"""One size on one database, in a process of its own: load it, visit its pages, time the intake."""

import sys
import time
from pathlib import Path

import django

django.setup()

from django.core.management import call_command  # noqa: E402  # needs the settings
from django.db import connection  # noqa: E402

from inventory import audit  # noqa: E402
from inventory.models import Device, Person, Unit  # noqa: E402
from tests.bench import intake  # noqa: E402
from tests.bench.big import history, loading, visits  # noqa: E402
from tests.bench.big.history import Firm  # noqa: E402

AUDITED = 100_000  # up to so many movements the audit reads them all: at ten million, for hours


def main(movements: int, folder: Path) -> None:
    """Print the figures of a database that is loaded here, unless it stands there already."""
    firm = Firm(movements)
    if connection.introspection.table_names():
        call_command("migrate", verbosity=0)
        lines = [_size(firm, "kept from an earlier run", folder)]
    else:
        began = time.perf_counter()
        loading.load(firm)
        if movements <= AUDITED:
            problems = [words for check in audit.run() for words in check.problems]
            assert not problems, problems[:5]
        lines = [_size(firm, f"loaded in {(time.perf_counter() - began) / 60:.1f} min", folder)]
    lines += visits.figures(folder, firm)
    lines.append(intake.compared(folder, Person.objects.get(username="bench"), _rounds(firm)))
    print("\n".join(lines))


def _size(firm: Firm, how: str, folder: Path) -> str:
    if connection.vendor == "postgresql":
        with connection.cursor() as cursor:
            cursor.execute("SELECT pg_database_size(current_database())")
            size = cursor.fetchone()[0]
    else:
        size = sum(file.stat().st_size for file in folder.glob("big.sqlite3*"))
    return f"- {firm.movements:,} movements of {firm.units:,} units, {size / 1e9:.1f} GB, {how}."


def _rounds(firm: Firm) -> list[list[bytes]]:
    """Things on the shelf go from their bin to the next one, each once."""
    device = Device.objects.order_by("pk").first()
    assert device is not None
    units = Unit.objects.filter(pk__gt=firm.stocked).select_related("place").order_by("pk")
    lines = []
    for unit in units[: intake.ROUNDS * intake.BATCH]:
        assert unit.place is not None
        bin_now = unit.place_id - history.DOCK
        to = history.code(history.DOCK + bin_now % history.BINS + 1)
        fields = {"text": history.label(firm, unit.pk), "target": to}
        lines.append(intake.line(device, device.high_water + len(lines) + 1, step="put", **fields))
    return [lines[n : n + intake.BATCH] for n in range(0, len(lines), intake.BATCH)]


if __name__ == "__main__":
    main(int(sys.argv[1]), Path(sys.argv[2]))
