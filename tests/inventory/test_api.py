"""The API of the lower house, over HTTP as a browser uses it."""

import io
import json
from typing import Any

import pytest
import zxingcpp
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse
from PIL import Image

from inventory import catalogue
from inventory.api import MOST_BYTES, MOST_LINES
from inventory.ledger.ids import uuid7
from inventory.models import Device, Event, Note, Person, Photo, Place, Unit
from inventory.moving import nameless
from tests import firm
from tests.codes import hostile
from tests.counts import counts
from tests.firm import Firm

LINES = "application/x-ndjson"


@pytest.fixture
def made(db: None) -> Firm:
    return firm.build()


@pytest.fixture
def client(made: Firm) -> Client:
    """The browser of the warehouse, with a CSRF token as a page gives it."""
    found = Client(enforce_csrf_checks=True)
    found.force_login(made.wanda.person)
    found.get(reverse("goods_in"))
    found.defaults["HTTP_X_CSRFTOKEN"] = found.cookies["csrftoken"].value
    return found


def send(client: Client, *lines: str, content_type: str = "application/x-ndjson") -> Any:
    return client.post(reverse("api_events"), "\n".join(lines), content_type)


def post(client: Client, name: str, data: dict[str, Any]) -> Any:
    return client.post(reverse(name), json.dumps(data), "application/json")


def test_a_batch_is_answered_line_by_line(client: Client, made: Firm) -> None:
    """One poisoned line in the middle: the others are taken, it is named, the mark covers them."""
    good = [made.wanda.line("receive", "09521234000020", target="DOCK", quantity=n) for n in (3, 4)]
    answer = send(client, good[0], '{"v":1,"id":"\\u0000"}', good[1]).json()

    assert [one["verdict"] for one in answer["results"]] == ["applied", "refused", "applied"]
    assert [one["line"] for one in answer["results"]] == [1, 2, 3]
    assert answer["results"][1]["kind"] == "malformed"
    assert answer["mark"]["size"] == 4
    assert answer["missing"] == []
    assert Event.objects.count() == 2


def test_the_same_batch_again_changes_nothing(client: Client, made: Firm) -> None:
    """Every line is answered as before and marked as known."""
    line = made.wanda.line("receive", "09521234000020", target="DOCK", quantity=3)
    first, second = send(client, line).json(), send(client, line).json()

    assert second["results"][0]["duplicate"]
    assert second["results"][0]["sentence"] == first["results"][0]["sentence"]
    assert second["mark"] == first["mark"]


def test_numbers_that_never_came_are_asked_for(client: Client, made: Firm) -> None:
    """The phone hears which of its own numbers are missing."""
    made.wanda.seq = 4
    line = made.wanda.line("receive", "09521234000020", target="DOCK", quantity=3)

    assert send(client, line).json()["missing"] == [[1, 4]]


def test_a_server_put_back_says_what_it_lacks_and_takes_nothing(client: Client, made: Firm) -> None:
    """What a phone sends again comes before what is new: it names the last that was answered."""
    device, address = made.wanda.device.uid, reverse("api_events")
    lines = [made.wanda.line("receive", "09521234000020", target="DOCK") for _ in range(6)]

    def sent(line: str, after: int) -> Any:
        query = f"{address}?device={device}&after={after}"
        return client.post(query, line, "application/x-ndjson").json()

    first, ahead, behind = sent(lines[0], 0), sent(lines[3], 1), sent(lines[5], 5)

    assert (first["high_water"], first["missing"]) == (1, [])
    assert (ahead["high_water"], ahead["missing"]) == (4, [[2, 3]])
    assert (behind["results"], behind["high_water"], behind["missing"]) == ([], 4, [[2, 3]])
    assert Event.objects.count() == 2
    told = post(client, "api_devices", {"device": str(device)}).json()
    assert (told["high_water"], told["missing"]) == (4, [[2, 3]])
    assert sent(lines[4], 4)["results"][0]["verdict"] == "applied"
    stranger = f"{address}?device={uuid7()}&after=1"
    assert client.post(stranger, lines[5], "application/x-ndjson").json()["high_water"] == 0
    assert send(client, lines[5]).json()["high_water"] is None
    mark = f"{told['mark']['size']}:{told['mark']['root']}"
    other = mark[:-1] + ("0" if mark[-1] != "0" else "1")
    for noted, holds in (
        (mark, True),
        (other, False),
        (f"9{mark}", False),
        (f"0:{64 * '0'}", True),
    ):
        told = post(client, "api_devices", {"device": str(device), "noted": noted}).json()
        assert told["holds_mark"] == holds
    # The numbers fit, the record is not the one that this phone was answered from.
    count = Event.objects.count()
    last = client.post(f"{address}?device={device}&mark={other}", lines[1], "application/x-ndjson")
    assert (last.json()["results"], last.json()["holds_mark"]) == ([], False)
    assert Event.objects.count() == count
    for wrong in ("device=x", "after=-1", "after=x", "mark=7"):
        refused = client.post(f"{address}?{wrong}", lines[5], "application/x-ndjson")
        assert (refused.status_code, refused.json()["where"]) == (422, wrong.partition("=")[0])


@pytest.mark.parametrize(
    ("body", "kind", "status", "where"),
    [
        ("", "application/x-ndjson", 422, "lines"),  # nothing at all
        ("\n" * 5, "application/x-ndjson", 422, "lines"),  # empty lines are none
        ("x\n" * (MOST_LINES + 1), "application/x-ndjson", 422, "lines"),  # one too many
        ("x" * (MOST_BYTES + 1), "application/x-ndjson", 400, ""),  # one byte too many
        ("{}", "application/json", 415, ""),  # another kind of body
    ],
)
def test_a_batch_that_cannot_be_read_is_refused_whole(
    client: Client, body: str, kind: str, status: int, where: str
) -> None:
    """A problem document names what was expected; nothing is stored."""
    answer = client.post(reverse("api_events"), body, kind)

    assert answer.status_code == status
    assert answer.headers["Content-Type"] == "application/problem+json"
    assert answer.json()["where"] == where
    assert set(answer.json()) == {"type", "title", "detail", "where"}
    assert not Event.objects.exists()


def test_a_stranger_and_a_leaver_get_403(made: Firm) -> None:
    """No route of the API answers somebody who is not signed in or no longer works here."""
    leaver = Person.objects.create_user("lars", name="Lars", roles=["warehouse"])
    gone = Client()
    gone.force_login(leaver)
    leaver.is_active = False
    leaver.save()
    for client in (Client(), gone):
        for name in ("api_events", "api_devices", "api_photos", "api_notes", "api_read"):
            answer = client.post(reverse(name), "{}", "application/json")

            assert answer.status_code == 403
            assert answer.json()["title"] == "Not allowed"


def test_what_one_scanned_is_not_taken_as_another_s(client: Client, made: Firm) -> None:
    """A page that stayed open while somebody else signed in says whose it is."""
    line = made.tariq.line("receive", "09521234000020", target="DOCK", quantity=3)
    pages = {name: str(getattr(made, name).person.uid) for name in ("tariq", "wanda")}

    def send_as(name: str) -> int:
        headers = {"X-Person": pages[name]}
        return client.post(reverse("api_events"), line, LINES, headers=headers).status_code

    assert (send_as("tariq"), Event.objects.count()) == (403, 0)
    assert (send_as("wanda"), Event.objects.count()) == (200, 1)
    told = client.get(reverse("api_signed_in")).json()
    assert told["person"] == pages["wanda"]
    client.defaults["HTTP_X_CSRFTOKEN"] = told["token"]
    assert send_as("wanda") == 200


def test_without_a_csrf_token_nothing_is_taken(made: Firm) -> None:
    """A page of another site cannot send events in somebody's name."""
    client = Client(enforce_csrf_checks=True)
    client.force_login(made.wanda.person)
    line = made.wanda.line("receive", "09521234000020", target="DOCK", quantity=3)

    assert send(client, line).status_code == 403
    assert not Event.objects.exists()


def test_a_device_brings_its_own_id(client: Client) -> None:
    """Made without signal, registered later, once."""
    uid = str(uuid7())
    for _ in range(2):
        assert post(client, "api_devices", {"device": uid}).json()["device"] == uid

    assert Device.objects.filter(uid=uid).count() == 1
    assert post(client, "api_devices", {"device": "seven"}).status_code == 422


def test_a_note_is_stored_once_and_never_changed(client: Client) -> None:
    """The same words under the same id are the same note, other words a conflict."""
    note = {"id": str(uuid7()), "text": "The corner is dented."}

    assert post(client, "api_notes", note).json() == {"id": note["id"]}
    assert post(client, "api_notes", note).status_code == 200
    answer = post(client, "api_notes", {**note, "text": "All is well."})
    assert answer.status_code == 409
    assert answer.json()["where"] == "id"
    assert Note.objects.get().text == "The corner is dented."


@pytest.mark.parametrize(
    ("data", "where"),
    [
        ({"text": ""}, "text"),
        ({}, "text"),
        ({"text": "x" * 2001}, "text"),
        ({"text": "x", "id": "seven"}, "id"),
        ([], ""),
    ],
)
def test_a_wrong_note_names_its_field(client: Client, data: Any, where: str) -> None:
    """422, with the field at fault."""
    answer = post(client, "api_notes", data)

    assert (answer.status_code, answer.json()["where"]) == (422, where)


def picture(kind: str = "JPEG") -> bytes:
    image = Image.new("RGB", (120, 80), (90, 120, 60))
    exif = Image.Exif()
    exif[0x010F] = "A camera's maker"
    stream = io.BytesIO()
    image.save(stream, kind, exif=exif)
    return stream.getvalue()


def test_a_photo_is_kept_without_what_the_camera_wrote(client: Client, made: Firm) -> None:
    """Named by the hash of what is stored; the same photo twice is one."""
    names = set()
    for _ in range(2):
        file = SimpleUploadedFile("a.jpg", picture(), "image/jpeg")
        answer = client.post(reverse("api_photos"), {"photo": file})
        names.add(answer.json()["sha256"])
    stored = Photo.objects.get()

    assert names == {stored.sha256}
    shown = client.get(reverse("photo_file", args=[stored.sha256]))
    assert shown.headers["Content-Type"] == "image/jpeg"
    assert b"camera" not in shown.content
    assert not Image.open(io.BytesIO(shown.content)).getexif()


def test_a_file_that_is_no_photo_is_refused(client: Client) -> None:
    """A text named .jpg, and nothing at all."""
    file = SimpleUploadedFile("a.jpg", b"only words", "image/jpeg")
    answer = client.post(reverse("api_photos"), {"photo": file})

    assert answer.status_code == 422
    assert answer.json()["detail"] == "expected a JPEG, PNG or WebP picture, got plain text"
    assert client.post(reverse("api_photos"), {}).json()["where"] == "photo"
    assert not Photo.objects.exists()


def test_a_photo_is_the_takers_and_the_desks(made: Firm) -> None:
    """Another technician finds nothing at its address, and may not speak of a foreign kit."""
    tariq, mona = Client(), Client()
    tariq.force_login(made.tariq.person)
    mona.force_login(made.mona.person)
    tove = Client()
    tove.force_login(Person.objects.create_user("tove", name="Tove", roles=["technician"]))
    file = SimpleUploadedFile("a.jpg", picture(), "image/jpeg")
    sha256 = tariq.post(reverse("api_photos"), {"photo": file}).json()["sha256"]
    where = reverse("photo_file", args=[sha256])

    assert [one.get(where).status_code for one in (tariq, mona, tove)] == [200, 200, 404]
    foreign = {"text": "x", "subject": f"kit:{uuid7()}"}
    assert post(tove, "api_notes", foreign).status_code == 404


def test_hostile_texts_are_answered_line_by_line(client: Client, made: Firm) -> None:
    """Whatever a scanner may send as text: an outcome or a named refusal for each, never a 500."""
    texts = list(hostile.texts(17, counts(150, 10_000)))
    for start in range(0, len(texts), 150):
        lines = [made.wanda.line("put", text, target="BIN1") for text in texts[start : start + 150]]
        answer = send(client, *lines)

        assert answer.status_code == 200
        results = answer.json()["results"]
        assert len(results) == len(lines)
        assert all(one["verdict"] and one["sentence"] for one in results)
    assert Event.objects.exists()


def test_a_photo_answers_what_is_on_it(client: Client, made: Firm) -> None:
    """A label of a van of ours counts; the answer has the shape of the command."""
    from inventory.labelling import of_place
    from inventory.labels.png import png

    van = Place.objects.get(code="VAN1")
    file = SimpleUploadedFile("van.png", png(of_place(van), 300), "image/png")
    answer = client.post(reverse("api_read"), {"photo": file}).json()

    assert answer["refused"] is None
    assert {code["text"] for code in answer["codes"] if code["accepted"]} == {"VAN1"}
    assert set(answer["codes"][0]) == {"text", "symbology", "box", "accepted", "why"}
    assert answer["unread"] == []
    assert answer["label"]["codes"] == [
        {"text": "VAN1", "kind": "place", "words": "Van 1", "chosen": True}
    ]


def test_one_photo_of_a_label_with_several_codes(client: Client, made: Firm) -> None:
    """The serial is chosen by the item's label profile; the other codes are shown with it."""
    catalogue.add_labels([(made.module, "XM{serial:d8}", "Code128")])
    lot = nameless(made.module)
    unit = Unit.objects.create(
        item=made.module, lot=lot, serial="00001234", serial_key="00001234", place=made.dock
    )
    lines = {
        "XM00001234": zxingcpp.BarcodeFormat.Code128,
        "09521234000013": zxingcpp.BarcodeFormat.ITF,
        "[)>\x1e06\x1d1PABC-1\x1d1TL7\x1e\x04": zxingcpp.BarcodeFormat.DataMatrix,
    }
    sheet = Image.new("L", (900, 900), 255)
    for row, (text, format_) in enumerate(lines.items()):
        symbol = zxingcpp.create_barcode(text, format_)
        sheet.paste(
            Image.fromarray(zxingcpp.write_barcode_to_image(symbol, scale=4)), (60, 40 + 290 * row)
        )
    file = io.BytesIO()
    sheet.save(file, "PNG")
    upload = SimpleUploadedFile("label.png", file.getvalue(), "image/png")
    label = client.post(reverse("api_read"), {"photo": upload}).json()["label"]

    assert label["question"] == ""
    assert label["codes"][0] == {
        "text": "XM00001234",
        "kind": "unit",
        "words": f"serial of {unit}",
        "chosen": True,
    }
    assert {(part["kind"], part["words"]) for part in label["codes"][1:]} == {
        ("item", "Module"),
        ("other", "the maker's number of the item ABC-1, batch L7"),
    }


def test_the_schema_describes_every_route_and_refusal(client: Client) -> None:
    """OpenAPI 3.1 with a problem document for each documented status."""
    answer = client.get(reverse("api_schema"), {"format": "json"})
    schema = json.loads(answer.content)

    assert schema["openapi"].startswith("3.1")
    assert {"/api/events", "/api/devices", "/api/photos", "/api/notes", "/api/read"} <= set(
        schema["paths"]
    )
    assert {"400", "403", "409", "422"} <= set(schema["paths"]["/api/notes"]["post"]["responses"])
