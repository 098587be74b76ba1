"""Programs that the crash and race tests start in processes of their own: `python -m ... NAME ...`.

prepare               migrate, enter the firm, sign Wanda in; prints session and device as JSON
stored                how often each event is there, with its movements: {id: [1, 1]}
replay                take a seeded day of scans; prints the digest of the state
race WRITERS SERIALS  writers in processes of their own claim the same serials, each for its bin
naive WRITERS SERIALS the same without lock or compare-and-set: what the laws are there to prevent
"""

from __future__ import annotations

import json
import multiprocessing
import os
import random
import sys
import uuid
from collections.abc import Callable, Iterator

import django

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "kitting.settings")
django.setup()

from django.conf import settings  # noqa: E402  Django must be set up before its models are read
from django.contrib.auth import BACKEND_SESSION_KEY, HASH_SESSION_KEY, SESSION_KEY  # noqa: E402
from django.db import connections, transaction  # noqa: E402
from django.db.models import Count  # noqa: E402

from inventory import digest, intake  # noqa: E402
from inventory.intake import Act, Verdict  # noqa: E402
from inventory.models import Device, Event, Movement, Person, Place, Unit  # noqa: E402
from inventory.moving import Writing  # noqa: E402
from inventory.signing_in import SessionStore  # noqa: E402
from tests import firm, tables  # noqa: E402


def prepare() -> dict[str, str]:
    tables.make()
    wanda = firm.build().wanda
    session = SessionStore()
    session[SESSION_KEY] = str(wanda.person.pk)
    session[BACKEND_SESSION_KEY] = settings.AUTHENTICATION_BACKENDS[0]
    session[HASH_SESSION_KEY] = wanda.person.get_session_auth_hash()
    session.save()
    return {"session": str(session.session_key), "device": str(wanda.device.uid)}


def claim(writes: Writing) -> Verdict:
    """Take a unit off the dock, once."""
    unit, to = writes.thing.unit, Place.objects.get(code=writes.line.target)
    if unit is None or unit.place is None or unit.place.code != "DOCK":
        return Verdict("dispute", "Somebody else has it.")
    writes.unit(unit, to)
    return Verdict("applied", "Claimed.")


def serials(count: int) -> list[str]:
    return [f"S{n:04}" for n in range(count)]


def race(number: int, count: int) -> None:
    person = Person.objects.get(username="wanda")
    phone = firm.Phone(person, Device.objects.create(person=person))
    lines = [phone.line("claim", serial, target=f"BIN{number}") for serial in serials(count)]
    random.Random(number).shuffle(lines)
    for start in range(0, count, 5):
        for result in phone.send(*lines[start : start + 5]):
            assert result.verdict in ("applied", "dispute"), result


def naive(number: int, count: int) -> None:
    """Read where it stands, then write where it goes: what everybody writes first."""
    event, to = Event.objects.get(number=1), Place.objects.get(code=f"BIN{number}")
    for serial in serials(count):
        with transaction.atomic():
            unit = Unit.objects.select_related("place").get(serial_key=serial)
            if unit.place is not None and unit.place.code == "DOCK":
                Movement.objects.create(
                    event=event,
                    unit=unit,
                    lot=unit.lot,
                    from_place=unit.place,
                    to_place=to,
                    quantity=1,
                )
                Unit.objects.filter(pk=unit.pk).update(place=to)


def together(work: Callable[[int, int], None], writers: int, count: int) -> None:
    """Writers in processes of their own that wait for each other, so that they really meet."""
    intake.register(Act("claim", frozenset({"warehouse"}), claim))
    prepare()
    stock_the_dock(count)
    connections.close_all()  # a connection does not survive a fork
    fork = multiprocessing.get_context("fork")
    barrier = fork.Barrier(writers)

    def writer(number: int) -> None:
        barrier.wait(60)
        work(number, count)

    started = [fork.Process(target=writer, args=(n,)) for n in range(1, writers + 1)]
    for process in started:
        process.start()
    for process in started:
        process.join()
    assert [process.exitcode for process in started] == [0] * writers
    tell()


def stock_the_dock(count: int) -> None:
    person = Person.objects.get(username="wanda")
    for number in (4, 5, 6):
        Place.objects.create(kind="bin", code=f"BIN{number}", name=f"Bin {number}")
    phone = firm.Phone(person, Device.objects.create(person=person))
    texts = [firm.element_string(serial) for serial in serials(count)]
    lines = [phone.line("receive", text, via="symbol", target="DOCK") for text in texts]
    assert {result.verdict for result in phone.send(*lines)} == {"applied"}


def tell() -> None:
    """How often each serial left the dock, most often first; and whether it is where it went."""
    counts: dict[int, int] = {}
    for unit in Movement.objects.filter(from_place__code="DOCK").values_list("unit", flat=True):
        counts[unit] = counts.get(unit, 0) + 1
    applied = Event.objects.filter(step="claim", outcomes__verdict="applied").count()
    claims = Event.objects.filter(step="claim").count()
    doubled = sum(1 for count in counts.values() if count > 1)
    report = {"moved": len(counts), "doubled": doubled, "applied": applied, "claims": claims}
    print(json.dumps(report))


def stored() -> dict[str, list[int]]:
    found: dict[str, list[int]] = {}
    for event in Event.objects.annotate(moves=Count("movements")):
        count = found.setdefault(str(event.uid), [0, 0])
        count[0] += 1
        count[1] += event.moves
    return found


def replay() -> str:
    """Deliveries, moves, counts, undos: the same lines wherever this runs."""
    tables.make()
    for _ in day(wanda(), 120):
        pass
    return digest.digest()


def wanda() -> firm.Phone:
    """The firm's phone, of the same id in every database."""
    phone = firm.build().wanda
    phone.device.uid = uuid.UUID(int=77)
    phone.device.save()
    return phone


def day(phone: firm.Phone, count: int) -> Iterator[intake.Result]:
    """So many scans of a seeded day, each answered before the next is made."""
    dice, ids = random.Random(7), [str(uuid.UUID(int=1000 + n)) for n in range(count)]
    for number, uid in enumerate(ids):
        step = dice.choice(["receive", "put", "put", "count", "undo"])
        text = dice.choice([firm.element_string(s) for s in serials(6)] + ["09521234000020"] * 3)
        more: dict[str, object] = {
            "target": dice.choice(["DOCK", "BIN1", "BIN2"]),
            "start": dice.choice(["DOCK", "BIN1"]),
            "quantity": dice.randint(1, 9),
        }
        if step == "undo":
            text, more = "", {"reverses": ids[max(0, number - dice.randint(1, 4))]}
        yield phone.scan(step, text, id=uid, via="symbol", **more)


def main(name: str, *arguments: str) -> None:
    told: dict[str, Callable[[], object]] = {
        "prepare": prepare,
        "stored": stored,
        "replay": replay,
    }
    if name in told:
        print(json.dumps(told[name]()))
    else:
        writers, count = map(int, arguments)
        together({"race": race, "naive": naive}[name], writers, count)


if __name__ == "__main__":
    main(*sys.argv[1:])
