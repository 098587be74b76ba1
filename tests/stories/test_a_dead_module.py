"""A module that never worked: swapped, claimed, kept, sent with their number, credited."""

from __future__ import annotations

import csv
import io
import json
import zipfile
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from django.core.files.storage import default_storage
from django.core.management import CommandError, call_command

from inventory import audit, claims, deliveries, intake
from inventory.claim_needs import entries, missing
from inventory.models import Claim, Delivery, Hold, Place, Return, Unit
from inventory.photos import path_of
from inventory.return_lists import owed
from inventory.tracing import chain
from kitting import claim_file
from kitting.models import Kit
from tests.firm import NOW, Phone
from tests.inventory.deliveries import begin
from tests.kitting import yard as yards
from tests.kitting.yard import Yard, about
from tests.printed import Sheet
from tests.stories.counting_hands import Hands
from tests.stories.test_technician_day import picture

pytestmark = pytest.mark.django_db
FIRST = {"stack": 1, "level": 1}


def delivered(yard: Yard, *serials: str) -> Delivery:
    """Boxes by a carrier whose supplier wants to be told of what is dead on arrival."""
    made = begin(yard.firm, boxes=len(serials))
    terms = {"about": "dead", "source": "their terms of 1 Feb"}
    deliveries.set_clock(made.supplier, how="writing", hours=240, **terms)
    deliveries.set_need(made.supplier, key="crate", words="=Photo of the crate", **terms)
    yard.wanda.scan("count_boxes", quantity=len(serials), subject=made.subject)
    for serial in serials:
        said = {"with": yard.label(serial), "target": "DOCK", "subject": made.subject}
        assert yard.wanda.scan("receive", f"BOX-{serial}", **said).verdict == "applied"
    return made


def go(phone: Phone, step: str, text: str = "", expected: str = "applied", **more: Any) -> str:
    """Send one event, check its verdict, return its sentence."""
    done = phone.scan(step, text, **more)
    assert done.verdict == expected, (step, text, done.sentence)
    return done.sentence


def stand(yard: Yard, kit: Kit, *serials: str) -> None:
    """Pick, load, unbox and fit the modules and their head."""
    yard.box("P1", "CT-POWER")
    for level, serial in enumerate((*serials, "P1"), 1):
        for phone, step, text in (
            (yard.wanda, "pick", f"BOX-{serial}"),
            (yard.wanda, "load", f"BOX-{serial}"),
            (yard.tariq, "unbox", serial),
        ):
            go(phone, step, text, **about(kit))
        go(yard.tariq, "fit", serial, position={"stack": 1, "level": level}, **about(kit))
    yard.ticks(kit)
    go(yard.tariq, "close_kit", **about(kit))


def swapped(yard: Yard) -> Kit:
    """S1 comes off as dead on arrival, N1 stands in its place."""
    stand(yard, yard.kit(), "S1", "S2")
    kit = yard.kit(yard.job(job="swap", swap=[{"stack": 1, "level": 1}]))
    for phone, step, text in (
        (yard.wanda, "pick", "BOX-N1"),
        (yard.wanda, "load", "BOX-N1"),
        (yard.tariq, "unbox", "N1"),
    ):
        go(phone, step, text, **about(kit))
    for serial, percent in (("N1", 31), ("S2", 28)):
        go(yard.tariq, "charge", serial, number=percent, **about(kit))
    said = go(
        yard.tariq, "swap", "N1", kind="dead", reason="no light", **about(kit, **{"with": "S1"})
    )
    assert "Keep the new one's box: this one goes back in it." in said
    assert "maker's emergency instruction first" in said
    return kit


def test_a_dead_module_goes_from_the_swap_to_the_credit(tmp_path: Path) -> None:
    """One swap opens return and claim; packing, approval and keeping each stop what comes early."""
    yard = yards.build()
    delivered(yard, "S1", "S2", "N1")
    apart = Place.objects.create(
        kind="bin", code="APART", name="Apart", parent=yard.firm.dock.parent, purpose="apart"
    )
    kit = swapped(yard)
    unit = Unit.objects.get(serial="S1")
    found, claim = Return.objects.get(unit=unit), Claim.objects.get(unit=unit)
    assert (found.kind, claim.about, claim.partner.code) == ("dead", "dead", "north")
    assert [(due.how, due.at) for due in claim.dues.all()] == [
        ("writing", NOW + timedelta(days=10))
    ]
    assert Hold.objects.filter(unit=unit, release=None).count() == 1

    # No battery of this sort travels before a named person has decided; nobody's word is nothing.
    way = about(kit, target="DOCK")
    early = go(yard.tariq, "bring_back", "S1", "stopped", **way)
    assert "nobody has decided yet how it is packed" in early
    go(yard.mona, "packing_class", "S1", "stopped", reason="no kind was chosen")
    go(yard.mona, "packing_class", "S1", "stopped", kind="p908")
    assert yard.wanda.scan("packing_class", "S1", kind="p908", reason="x").verdict == "refused"
    go(yard.mona, "packing_class", "S1", kind="p908", reason="cold, dry, by the maker's sheet")
    go(yard.tariq, "bring_back", "S1", **way)
    go(yard.wanda, "put", "S1", target=apart.code)

    desk = Hands(yard.wanda.person).begin(f"/returns/{found.code}/")
    assert "This one goes back in it" in desk.page.words
    assert "Keep it as long as they may ask for it until 25 Dec 2026" in " ".join(
        desk.page.words.split()
    )
    assert desk.press("It is kept", reason="rack 2") == "applied", desk.said
    assert "This one goes back in it" not in desk.begin(f"/returns/{found.code}/").page.words

    # Claimed and not approved: it stays here; approved, it goes; scrapped it is not before its day.
    back, asked = {"subject": found.subject}, {"subject": claim.subject}
    go(yard.wanda, "send_back", "", "stopped", kind="carrier", **back)
    scrap = go(yard.mona, "scrap_return", "", "stopped", reason="waste firm", **back)
    assert "kept until 25 Dec 2026" in scrap
    go(yard.wanda, "release", "S1", "refused")
    go(yard.mona, "release", "S1", "stopped")
    look_at(yard, claim, tmp_path)
    go(yard.wanda, "claim_approved", "", "stopped", **asked)
    go(yard.wanda, "claim_approved", "", reason="RMA 4711", **asked)
    go(yard.wanda, "claim_approved", "", "noted", reason="RMA 4711", **asked)
    go(yard.wanda, "send_back", "", kind="carrier", reason="parcel 12", **back)
    unit.refresh_from_db()
    assert unit.place is not None
    assert {e.key: e.value for e in entries(claim)}["carrier"].endswith("carrier: parcel 12")
    assert (unit.place.kind, Hold.objects.filter(unit=unit, release=None).count()) == ("carrier", 0)
    paid(yard, claim)
    assert [check.problems for check in audit.run() if check.problems] == []


def look_at(yard: Yard, claim: Claim, tmp_path: Path) -> None:
    """The page lists what lacks; what is added there is no longer missing."""
    lacking = missing(claim)
    assert "=Photo of the crate (North Store)" in lacking
    assert "Number of the invoice" in lacking
    known = {entry.key: entry.value for entry in entries(claim)}
    assert known["serial"].startswith("CT-MODULE, battery module, S1")
    assert known["note"] == "LS-1, 25 Nov 2026"
    assert known["packing"].endswith("cold, dry, by the maker's sheet, Mona")
    assert known["carrier"] == ""  # it has not left yet
    wanda = Hands(yard.wanda.person).begin(f"/claims/{claim.code}/")
    assert "=Photo of the crate" in wanda.page.words
    photo = wanda.photograph(picture(), claim.subject)
    assert wanda.press("Add it", kind="crate", photo=photo) == "applied", wanda.said
    assert wanda.press("Add it", kind="invoice", reason="=RE-1+1") == "applied", wanda.said
    assert wanda.press("Add it", kind="no-such", reason="x") == "stopped"
    assert len(missing(claim)) == len(lacking) - 2
    check_file(yard, claim, photo, tmp_path)


@contextmanager
def photo_in_other_bytes(sha256: str) -> Iterator[None]:
    """One byte of a stored photo is another for a while."""
    path = Path(default_storage.path(path_of(sha256)))
    whole = path.read_bytes()
    path.write_bytes(whole[:-1] + bytes([whole[-1] ^ 1]))
    yield
    path.write_bytes(whole)


def check_file(yard: Yard, claim: Claim, photo: str, tmp_path: Path) -> None:
    """The ZIP holds what the database has, names what is missing, and is the same twice."""
    client = Hands(yard.wanda.person).client
    answer = client.get(f"/claims/{claim.code}/zip")
    assert answer["Content-Disposition"] == f'attachment; filename="claim-{claim.code}.zip"'
    assert answer.content == claim_file.packed(claim)
    out, said = tmp_path / "to send.zip", io.StringIO()
    call_command("hand_out", "claim", claim.code.lower(), "--out", str(out), "--json", stdout=said)
    assert out.read_bytes() == answer.content
    assert json.loads(said.getvalue())["missing"] == missing(claim)
    for code, wrong in (("C99", out), (claim.code, tmp_path / "none" / "x.zip")):
        with pytest.raises(CommandError, match="expected"):
            call_command("hand_out", "claim", code, "--out", str(wrong))
    archive = zipfile.ZipFile(io.BytesIO(answer.content))
    assert archive.testzip() is None
    pictures = {f"photos/{photo}.jpg"}
    assert {name for name in archive.namelist() if name.startswith("photos/")} == pictures
    assert archive.read(f"photos/{photo}.jpg") == client.get(f"/photos/{photo}").content
    assert archive.read("missing.txt").decode().splitlines() == missing(claim)
    with photo_in_other_bytes(photo):
        damaged = zipfile.ZipFile(io.BytesIO(claim_file.packed(claim)))
    assert damaged.read("photos/left-out.txt").decode() == f"{photo} damaged\n"
    assert f"photos/{photo}.jpg" not in damaged.namelist()

    story = chain("S1")
    rows = list(csv.DictReader(archive.read("chain.csv").decode("utf-8-sig").splitlines()))
    assert [row["event"] for row in rows] == [str(link.event) for link in story.links]
    assert json.loads(archive.read("chain.json"))["links"][0]["sentence"] == rows[0]["what"]
    needs = archive.read("needs.csv").decode("utf-8-sig")
    known = {row["key"]: row["known"] for row in csv.DictReader(needs.splitlines())}
    assert known["invoice"] == "'=RE-1+1"  # no spreadsheet runs it
    assert '"crate","\'=Photo of the crate' in needs  # never a formula
    told = Sheet(archive.read(f"claim-{claim.code}.pdf")).text
    for words in (f"Claim {claim.code}", "North Store", "S1", "MISSING", *missing(claim)):
        assert words in told, words


def paid(yard: Yard, claim: Claim) -> None:
    """What is still to come is listed with its age until all of it came."""
    asked = {"subject": claim.subject}
    day = (NOW + timedelta(days=12)).date()
    desk = Hands(yard.mona.person).begin(f"/claims/{claim.code}/")
    assert desk.press("Note it", near="claim_money", money="1250.00") == "applied", desk.said
    go(yard.mona, "claim_money", quantity=25_000, kind="credit", reason="CN 1", **asked)
    go(
        yard.mona,
        "claim_money",
        "",
        "noted",
        quantity=25_000,
        kind="credit",
        reason="CN 1",
        **asked,
    )
    go(yard.wanda, "claim_end", kind="credited", **asked)
    assert [(one.claim, one.left, one.days) for one in owed(day)] == [(claim, 100_000, 12)]
    mona = Hands(yard.mona.person).begin("/claims/")
    assert "Credits still to come: 1000.00" in mona.page.words
    late = yard.mona.scan("claim_money", quantity=100_000, kind="credit", reason="CN 2", **asked)
    assert (late.verdict, owed(day)) == ("applied", [])
    go(yard.mona, "undo", reverses=late.id)
    assert [one.left for one in owed(day)] == [100_000]


def test_what_is_claimed_comes_off_only_approved_or_for_danger() -> None:
    """The stop says why; danger needs its reason, which then stands in the claim."""
    yard = yards.build()
    delivered(yard, "S1", "S2")
    stand(yard, yard.kit(), "S1", "S2")
    opened = yard.wanda.scan("claim_open", "S1", kind="fault", reason="error 9308")
    again = yard.mona.scan("claim_open", "S1", kind="fault", reason="error 9308")
    assert (opened.verdict, again.verdict) == ("applied", "noted")
    claim = Claim.objects.get(unit__serial="S1")
    known = {entry.key: entry.value for entry in entries(claim)}
    assert "Where does it stand? indoor; " in known["surroundings"]
    desk = Hands(yard.mona.person).begin(f"/claims/{claim.code}/")
    assert "Until then it stays fitted, but for danger." in desk.page.words
    kit = yard.kit(yard.job(job="removal"))
    go(yard.tariq, "take_down", "P1", **about(kit))
    go(yard.tariq, "take_down", "S2", **about(kit))  # nobody claims this one
    assert claim.code in go(yard.tariq, "take_down", "S1", "stopped", **about(kit))
    go(yard.tariq, "take_down", "S1", "stopped", kind="danger", **about(kit))
    danger = {"kind": "danger", "reason": "it smells"}
    done = yard.tariq.scan("take_down", "S1", **danger, **about(kit))
    assert done.verdict == "applied", done.sentence
    assert claims.steps_of(claim).get(kind="danger").words.endswith("it smells")
    go(yard.tariq, "undo", reverses=done.id)
    assert claims.steps_of(claim).filter(kind="danger").count() == 0
    go(yard.wanda, "claim_approved", reason="RMA 1", subject=claim.subject)
    go(yard.tariq, "take_down", "S1", **about(kit))
    assert [check.problems for check in audit.run() if check.problems] == []


def test_an_undone_swap_takes_return_and_claim_with_it() -> None:
    """Sent again it is the same event; undone nothing of it stands; thirty days on it may go."""
    yard = yards.build()
    delivered(yard, "S1", "S2", "N1")
    swapped(yard)
    line = yard.tariq.sent[-1]
    assert intake.take(yard.tariq.person, [line], NOW)[0].duplicate
    assert (Return.objects.count(), Claim.objects.count()) == (1, 1)
    go(yard.mona, "packing_class", "S1", kind="ordinary", reason="only its fuse, by the maker")
    scrap = yard.mona.line("scrap_return", "S1", reason="waste firm", kind="x")
    later = NOW + timedelta(days=30)
    assert intake.take(yard.mona.person, [scrap], later)[0].verdict == "applied"
    go(yard.mona, "undo", reverses=json.loads(scrap)["id"])
    go(yard.tariq, "undo", reverses=json.loads(line)["id"], subject=json.loads(line)["subject"])
    assert claims.open_ones().count() == 0
    assert Unit.objects.get(serial="S1").place.kind == "stack"
    assert [check.problems for check in audit.run() if check.problems] == []


def test_what_came_damaged_is_claimed_while_the_carrier_s_time_runs() -> None:
    """Told on the phone it is claimed by itself; later the desk claims it in one touch, elsewhere.

    Hidden damage: within seven days (CMR article 30 in the firm's terms); then the supplier is
    asked, as nobody else is left.
    """
    yard = yards.build()
    made = delivered(yard, "S1", "S2")
    kit = yard.kit()
    for serial in ("S1", "S2"):
        for phone, step, text in (
            (yard.wanda, "pick", f"BOX-{serial}"),
            (yard.wanda, "load", f"BOX-{serial}"),
            (yard.tariq, "unbox", serial),
        ):
            go(phone, step, text, **about(kit))
    phone = Hands(yard.tariq.person).begin(f"/my/{kit.job.code}/problem")
    photo = phone.photograph(picture(), kit.subject)
    told = phone.press("Send it", step="damaged", text="S1", photo=photo, reason="dent")
    assert told == "problem"
    assert f"Claim {made.code}-1 is open: the office tells Swift Road until 2 Dec." in phone.said
    first = Claim.objects.get(unit__serial="S1")
    assert (first.about, first.partner.code) == ("hidden", "swift")
    assert {e.key: e.photo for e in entries(first)}["damage"] == photo
    by_hand = json.loads(
        yard.tariq.line("damaged", "S2", photo=photo, reason="damaged", **about(kit))
    )
    late = NOW + timedelta(days=8)
    [done] = intake.take(yard.tariq.person, [json.dumps(by_hand)], late)
    assert (done.verdict, Claim.objects.filter(unit__serial="S2").count()) == ("problem", 0)

    mona = Hands(yard.mona.person).begin("/problems/")
    assert f"Claim {first.code}" in mona.page.words
    back = Return.objects.get(unit__serial="S2")
    page = mona.client.get(f"/returns/{back.code}/").content.decode()
    assert "Came with" in page
    claim = json.loads(yard.mona.line("claim_open", kind="hidden", subject=back.subject))
    assert mona.page.form_with("Claim it").fields["subject"] == back.subject
    [done] = intake.take(yard.mona.person, [json.dumps(claim)], late)
    second = Claim.objects.get(unit__serial="S2")
    assert (done.verdict, second.about, second.partner.code) == ("applied", "hidden", "north")
    assert "Claim it" not in mona.begin("/problems/").page.words
    undone = yard.tariq.scan("undo", reverses=str(first.event.uid), subject=kit.subject)
    assert undone.verdict == "applied", undone.sentence
    assert [one.code for one in claims.open_ones()] == [second.code]
    assert [check.problems for check in audit.run() if check.problems] == []
