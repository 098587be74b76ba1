"""What a power cut leaves of SQLite's log: `python -m tests.laws.cutting SCANS CUTS FOLDER`.

Takes a day of scans on the SQLite file that DATABASE_URL names, each answered before the next, and
notes after each answer how long the log (the -wal file) was, the record mark and the digest. Then
opens copies whose log ends at one byte, or has one bit turned, and prints of each what stands
there: {"noted": [...], "cuts": [...]}.
"""

from __future__ import annotations

import json
import os
import random
import shutil
import sys
from pathlib import Path
from typing import Any

import django

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "kitting.settings")
django.setup()

from django.db import connection  # noqa: E402  Django must be set up first

from inventory import audit, digest  # noqa: E402
from inventory.models import Event  # noqa: E402
from inventory.queries import latest_mark  # noqa: E402
from inventory.witness import noted as read_mark  # noqa: E402
from tests import firm, tables  # noqa: E402
from tests.laws.server_side import day, wanda  # noqa: E402

HEAD, FRAME = 32, 24 + 4096  # bytes: https://sqlite.org/fileformat2.html section 4.1
AGAIN = 7  # every so manieth length is audited, and sent all scans again


def sql(statement: str) -> Any:
    with connection.cursor() as cursor:
        return cursor.execute(statement).fetchone()


def note(log: Path) -> dict[str, Any]:
    mark = latest_mark()
    return {
        "log": log.stat().st_size,
        "events": Event.objects.count(),
        "mark": f"{mark['size']}:{mark['root']}",
        "digest": digest.digest(),
    }


def work(scans: int, folder: Path) -> tuple[firm.Phone, list[dict[str, Any]]]:
    """Work the day; what was noted, first before any scan. The files as they were are in folder."""
    tables.make()
    phone = wanda()
    name = Path(connection.settings_dict["NAME"])
    log = Path(f"{name}-wal")
    sql("PRAGMA wal_autocheckpoint = 0")  # the log alone has the day
    sql("PRAGMA wal_checkpoint(TRUNCATE)")
    shutil.copy(name, folder / "base")
    notes = [note(log), *(note(log) for _ in day(phone, scans))]
    shutil.copy(log, folder / "base-wal")
    connection.close()
    return phone, notes


def places(size: int, edges: list[int], count: int) -> list[tuple[str, int]]:
    """Where the log is cut: ends of transactions and bytes about them, of frames, anywhere."""
    dice = random.Random("cuts")
    frames = range(HEAD, size + 1, FRAME)
    about = [edge + by for edge in edges for by in (-1, 0, 1)]
    found = [("cut", at) for at in (0, HEAD - 1, HEAD, size)]
    found += [("cut", at) for at in dice.sample(about, min(count, len(about)))]
    found += [("cut", at) for at in dice.sample(frames, min(count, len(frames)))]
    found += [("cut", dice.randrange(size)) for _ in range(count)]
    found += [("bit", dice.randrange(size)) for _ in range(count)]
    return found


def spoil(folder: Path, kind: str, at: int) -> None:
    """Let the connection name a copy whose log ends before that byte, or has a bit of it turned."""
    connection.close()
    copy = folder / "copy"
    for ending in ("", "-wal", "-shm"):
        Path(f"{copy}{ending}").unlink(missing_ok=True)
    shutil.copy(folder / "base", copy)
    log = bytearray((folder / "base-wal").read_bytes())
    if kind == "cut":
        del log[at:]
    else:
        log[at] ^= 1
    Path(f"{copy}-wal").write_bytes(log)
    connection.settings_dict["NAME"] = str(copy)


def look(phone: firm.Phone, notes: list[dict[str, Any]]) -> dict[str, Any]:
    """What stands there now, and what whoever noted a mark can tell of it."""
    here = list(Event.objects.order_by("number").values_list("line", flat=True))
    return {
        "events": len(here),
        "prefix": here == phone.sent[: len(here)],
        "digest": digest.digest(),
        "sound": sql("PRAGMA integrity_check")[0],
        "last": read_mark(notes[-1]["mark"]).check().run().problems,
    }


def again(phone: firm.Phone) -> dict[str, Any]:
    """What the audit finds, and the digest once the phone has sent all it keeps."""
    problems = [words for done in audit.run() for words in done.problems]
    for line in list(phone.sent):
        phone.send(line)
    return {"audit": problems, "sent again": digest.digest()}


def main(scans: int, cuts: int, folder: Path) -> None:
    phone, notes = work(scans, folder)
    lines, seen, told = list(phone.sent), set[int](), []
    edges = [one["log"] for one in notes[1:]]
    for kind, at in places(edges[-1], edges, cuts):
        spoil(folder, kind, at)
        found = {"kind": kind, "at": at} | look(phone, notes)
        if found["events"] % AGAIN == 0 and found["events"] not in seen:
            seen.add(found["events"])
            found |= again(phone)
            phone.sent = list(lines)
        told.append(found)
    print(json.dumps({"noted": notes, "cuts": told}))


if __name__ == "__main__":
    main(int(sys.argv[1]), int(sys.argv[2]), Path(sys.argv[3]))
