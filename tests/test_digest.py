"""No table and no column is left out of the digest, but those named here with a reason."""

import re

import pytest
from django.apps import apps
from django.db import connection
from django.test.utils import CaptureQueriesContext

from inventory.digest import state

DRAWN = "drawn by the server: another in each database"
WHEN = "when the server took it: another after a replay"
ERASABLE = "can be erased by those whom it is about"
HASHED = "a hash of it counts"
IN_THE_LINE = "said by the event's line, whose hash counts"
EXCEPTIONS = {
    "inventory_scan": "what a text was taken for as it came; text and way are in the event's line",
    "inventory_held": "found again by the badge in the event's line",
    "inventory_recordmark": "grown from the lines in the order they came; the audit grows it anew",
    "inventory_photo": "can be erased; a backup counts and hashes photos by themselves",
    "inventory_sentphoto": "what phones call photos, which can be erased",
    "inventory_note": ERASABLE,
    "inventory_amendment.at": WHEN,
    "inventory_signin": "who is signed in where, not what is so",
    "inventory_wrongpassword": "guesses of somebody, not what is so",
    "inventory_secondfactor": "how somebody signs in, not what is so",
    "inventory_recoverycode": "how somebody signs in, not what is so",
    "inventory_sentform": "keys of pages; what their forms did counts",
    "inventory_person.password": "a new hash of the same password is no other state",
    "inventory_person.last_login": WHEN,
    "inventory_person.name": ERASABLE,
    "inventory_device.registered_at": WHEN,
    "inventory_event.number": "the order in which events came",
    "inventory_event.line": HASHED,
    "inventory_event.step": IN_THE_LINE,
    "inventory_event.device_id": IN_THE_LINE,
    "inventory_event.seq": IN_THE_LINE,
    "inventory_event.device_time": IN_THE_LINE,
    "inventory_event.subject": IN_THE_LINE,
    "inventory_outcome.number": "the order in which it was decided",
    "inventory_outcome.line": "made of event, verdict and sentence, which count",
    "inventory_holding.outside": "copied from the place",
    "inventory_delivery.entered_at": WHEN,
    "inventory_broughtfile.data": "erased once the file is over; its sum counts",
    "inventory_broughtfile.looked_at": WHEN,
    "inventory_broughtfile.begun_at": WHEN,
    "inventory_broughtfile.begun_after": WHEN,
    "inventory_person.phone": ERASABLE,
    "inventory_notice.note": ERASABLE,
    "inventory_notice.at": WHEN,
    "inventory_noticerule.at": WHEN,
    "inventory_printjob.at": WHEN,
    "inventory_printturn.at": WHEN,
    "kitting_site.name": ERASABLE,
    "kitting_site.address": ERASABLE,
    "kitting_site.phone": ERASABLE,
    "kitting_familyedition.text": HASHED,
    "kitting_familyedition.loaded_at": WHEN,
    "kitting_job.planned_at": WHEN,
    "kitting_kit.worked_out_at": WHEN,
    "kitting_kitchange.at": WHEN,
    "kitting_handline.at": WHEN,
    "kitting_handline.pair": DRAWN,
    "kitting_runchoice.at": WHEN,
    "kitting_pin.at": WHEN,
    "kitting_serving.at": WHEN,
    "kitting_substitute.at": WHEN,
    "kitting_substituteend.at": WHEN,
    "kitting_bagcontent.at": WHEN,
    "kitting_carried.at": WHEN,
    "kitting_ownbag.at": WHEN,
    "kitting_leadpin.pin": "a new hash of the same PIN is no other state",
    "kitting_leadpin.wrong": "guesses of somebody, not what is so",
    "kitting_leadpin.at": WHEN,
    "kitting_leadword.at": WHEN,
    "kitting_checksigned.at": WHEN,
    "kitting_survey.at": WHEN,
    "kitting_vanfacts.entered_at": WHEN,
    "kitting_vanout.at": WHEN,
}
CLIENTS = {"inventory_event.uid", "inventory_device.uid"}  # ids that count: everybody has them


def columns() -> list[str]:
    """Every column of both houses that could tell one state from another."""
    found = []
    for house in ("inventory", "kitting"):
        for model in apps.get_app_config(house).get_models(include_auto_created=True):
            table = model._meta.db_table
            for field in model._meta.concrete_fields:
                name = f"{table}.{field.column}"
                drawn = field.primary_key or (field.column == "uid" and name not in CLIENTS)
                if not drawn:
                    found.append(name)
    return found


@pytest.mark.django_db
def test_every_column_counts() -> None:
    """Each is asked for by a section of the digest, or is an exception; no exception is idle.

    A new table needs a section in inventory/digest.py or kitting/counted.py, or a reason here.
    """
    with CaptureQueriesContext(connection) as asked:
        list(state())
    # What only sorts or filters rows tells nothing.
    texts = [re.split(r" (?:WHERE|ORDER BY) ", query["sql"])[0] for query in asked]
    read = {f"{t}.{c}" for text in texts for t, c in re.findall(r'"(\w+)"\."(\w+)"', text)}
    known = columns()
    excused = [name for name in known if {name, name.partition(".")[0]} & EXCEPTIONS.keys()]
    idle = EXCEPTIONS.keys() - {*known, *(name.partition(".")[0] for name in known)}

    assert len(known) > 200
    assert [name for name in known if name not in read and name not in excused] == []
    assert sorted(idle) == []
    assert sorted(name for name in EXCEPTIONS if name in read) == []
