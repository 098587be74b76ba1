"""The restore drill's part in another process, on the database that DATABASE_URL names.

begin FILE       a firm in the middle of its day; an archive of it while a phone goes on scanning
again FILE OUT   restore FILE, write it again as OUT, then take what the phones send anew, twice

Each prints JSON. The lines that came after the archive lie beside it, in FILE.later.
"""

import json
import os
import sys
from io import StringIO
from pathlib import Path
from threading import Thread
from typing import Any

import django

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "kitting.settings")
django.setup()

from django.core.management import call_command  # noqa: E402  Django must be set up before
from django.db import connection, connections  # noqa: E402

from inventory import audit, intake  # noqa: E402
from inventory.backup import saving  # noqa: E402
from inventory.digest import digest  # noqa: E402
from inventory.models import Device, Event, Person, guard  # noqa: E402
from tests import people, tables  # noqa: E402
from tests.firm import NOW, Phone, element_string  # noqa: E402


def begin(file: str) -> dict[str, Any]:
    tables.make()
    wanda = people.build().people["warehouse"]
    phone = Phone(wanda, Device.objects.create(person=wanda))
    phone.scan("receive", element_string("EARLY"), target="DOCK")
    before = digest()
    later = [phone.line("receive", element_string(f"L{n}"), target="DOCK") for n in range(3)]
    photographed = saving._photos

    def meanwhile(out: Any) -> Any:
        """The phone sends while rows are written and photos are not yet."""

        def scan() -> None:
            phone.send(*later)
            connections.close_all()

        sender = Thread(target=scan)
        sender.start()
        sender.join()
        return photographed(out)

    saving._photos = meanwhile
    call_command("backup", file, stdout=StringIO())
    Path(f"{file}.later").write_text("\n".join(later))
    return {"before": before, "after": digest(), "events": Event.objects.count()}


def again(file: str, out: str) -> dict[str, Any]:
    told = StringIO()
    call_command("restore", file, "--json", stdout=told)
    call_command("backup", out, stdout=StringIO())
    restored = digest()
    later = Path(f"{file}.later").read_text().splitlines()
    wanda = Person.objects.get(username="wanda")
    device = Device.objects.get(uid=json.loads(later[0])["device"])
    lacking = [line for line in later if json.loads(line)["seq"] > device.high_water]
    for lines in (lacking, later):
        intake.take(wanda, lines, NOW)
    return {
        "told": json.loads(told.getvalue()),
        "restored": restored,
        "sent anew": len(lacking),
        "after": digest(),
        "events": Event.objects.count(),
        "unguarded": guard.missing(connection),
        "breaches": [words for check in audit.run() for words in check.problems],
    }


if __name__ == "__main__":
    print(json.dumps({"begin": begin, "again": again}[sys.argv[1]](*sys.argv[2:])))
