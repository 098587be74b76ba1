"""A kit closes when nothing of it is left."""

import re
from datetime import timedelta

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from inventory import audit
from kitting import urls
from kitting.models import Kit
from kitting.progress import fold
from kitting.queries import left_of
from tests.firm import NOW
from tests.kitting.test_unboxing import carry as carry_units
from tests.kitting.test_using import carry
from tests.kitting.yard import Yard, about, fresh


def test_what_is_left_is_named(yard: Yard, kit: Kit) -> None:
    """In a bag, in a box and loose at the site: each stops the closing."""
    carry(yard, kit, CT_BOLT6=12)
    carry_units(yard, kit, "S1", "S2")
    yard.tariq.scan("unbox", "S1", **about(kit))
    done = yard.tariq.scan("close_kit", **about(kit))

    assert done.verdict == "stopped"
    for words in ("battery module S1", "battery module S2", "12 x "):
        assert words in done.sentence
    assert fresh(kit).is_open


def test_an_empty_kit_closes_once_and_stops_what_comes_after(yard: Yard, kit: Kit) -> None:
    """Closed twice is stopped; a pick for it too; undo opens it again."""
    done = yard.tariq.scan("close_kit", **about(kit))
    again = yard.tariq.scan("close_kit", **about(kit))
    pick = yard.wanda.scan("pick", "CT-BOLT6", quantity=1, **about(kit))

    assert (done.verdict, again.verdict, pick.verdict) == ("applied", "stopped", "stopped")
    assert pick.sentence == f"{kit.code} is closed."
    assert not fresh(kit).is_open
    yard.tariq.scan("undo", reverses=done.id)
    assert fresh(kit).is_open


def test_a_closing_is_taken_back_where_the_phone_lands(
    yard: Yard, kit: Kit, monkeypatch: pytest.MonkeyPatch
) -> None:
    """On the list of jobs and at the job, for who closed it; the day after it is the job's page."""
    mine, theirs = Client(), Client()
    mine.force_login(yard.tariq.person)
    theirs.force_login(yard.tove.person)
    kit.job.crew.add(yard.tove.person)
    done = yard.tariq.scan("close_kit", **about(kit))
    back = f'name="reverses" value="{done.id}"'
    job = f"/my/{kit.job.code}/"

    assert [
        back in who.get(page).content.decode() for who in (mine, theirs) for page in ("/my/", job)
    ] == [
        True,
        True,
        False,
        False,
    ]
    with monkeypatch.context() as clock:
        late = NOW + timedelta(days=9)
        clock.setattr(timezone, "now", lambda: late)
        assert kit.job.code not in mine.get("/my/").content.decode()
        assert back in mine.get(job).content.decode()
    assert yard.tariq.scan("undo", reverses=done.id).verdict == "applied"
    assert back not in mine.get("/my/").content.decode()
    assert fresh(kit).is_open


def test_what_another_open_kit_brought_to_the_site_is_that_one_s(yard: Yard, kit: Kit) -> None:
    """Two jobs at one house: each closes by its own things, counted and by serial."""
    other = yard.kit(yard.job())
    carry(yard, kit, CT_BOLT6=5)
    carry_units(yard, kit, "S1")
    carry(yard, other, CT_BOLT6=3)
    yard.tariq.scan("unbox", "S1", **about(kit))
    yard.tariq.scan("unbox", "CT-BOLT6", **about(kit))
    yard.tariq.scan("unbox", "CT-BOLT6", **about(other))

    assert [(left.item.code, left.quantity) for left in left_of(kit)] == [
        ("CT-MODULE", 1),
        ("CT-BOLT6", 5),
    ]
    assert [(left.item.code, left.quantity) for left in left_of(other)] == [("CT-BOLT6", 3)]
    yard.tariq.scan("use", "CT-BOLT6", quantity=3, **about(other))
    assert yard.tariq.scan("close_kit", **about(other)).verdict == "applied"
    assert [left.quantity for left in left_of(kit)] == [1, 5]


def test_the_audit_sees_a_kit_closed_without_its_event(yard: Yard, kit: Kit) -> None:
    """The side column follows from the events, or the check says so."""
    done = yard.tariq.scan("close_kit", **about(kit))
    assert done.verdict == "applied"
    assert _problems() == []
    Kit.objects.filter(pk=kit.pk).update(closed_by=None)

    assert _problems() == [f"{kit.code}: closed by another event"]


def _problems() -> list[str]:
    return [p for check in audit.run() for p in check.problems if "kits" in check.name]


def test_a_closed_kit_s_lines_say_what_became_of_them(yard: Yard, kit: Kit) -> None:
    """Used, back, missing, the van's own, never scanned: no line stays packed, seen or needed."""
    yard.shelve("CT-METER", 1, yard.firm.van)
    carry_units(yard, kit, "S1", "S2")
    carry(yard, kit, CT_BOLT6=14, CT_TIE=20, CT_LEVEL=1)
    for level, serial in enumerate(("S1", "S2"), 1):
        yard.tariq.scan("fit", serial, position={"stack": 1, "level": level}, **about(kit))
    yard.tariq.scan("missing", "CT-TIE", quantity=3, **about(kit))
    yard.tariq.scan("use", **about(kit))
    yard.tariq.scan("damaged", "CT-BOLT6", quantity=1, reason="bent", photo="d" * 64, **about(kit))
    yard.tariq.scan("bring_back", **about(kit))
    yard.ticks(kit)
    assert "missing" in {row.state for row in fold(fresh(kit)).lines}
    assert yard.tariq.scan("close_kit", **about(kit)).verdict == "applied"
    told: dict[str, list[tuple[str, ...]]] = {}
    for row in fold(fresh(kit)).lines:
        assert row.state == "closed"
        told.setdefault(row.line.item.code, []).append(row.came_of)

    assert told["CT-MODULE"] == [("2 fitted",)]
    assert told["CT-BOLT6"] == [("12 used", "1 came back damaged", "1 came back")]
    assert told["CT-TIE"] == [("4 used",), ("8 used", "5 came back", "3 missing")]
    assert told["CT-LEVEL"] == [("1 came back",)]
    assert told["CT-METER"] == [("1 of the van's own",)]
    assert told["CT-ISO"] == [("1 never scanned",)]


@pytest.mark.parametrize("page", ["/jobs/{job}/", "/kits/{kit}/", "/my/{job}/"])
def test_a_closed_kit_s_pages_say_so_too(yard: Yard, kit: Kit, page: str) -> None:
    """At the desk, at the bench and on the phone."""
    carry(yard, kit, CT_BOLT6=12)
    yard.tariq.scan("use", **about(kit))
    reader = Client()
    reader.force_login((yard.tariq if page.startswith("/my/") else yard.mona).person)
    address = page.format(job=kit.job.code, kit=kit.code)
    before = reader.get(address).content.decode()
    assert yard.tariq.scan("close_kit", **about(kit)).verdict == "applied"
    after = reader.get(address).content.decode()

    assert " needed</span>" in before
    assert "<div>12 used</div>" in after
    assert " needed</span>" not in after


def _pages_of_a_job() -> list[str]:
    """Every route about one job or kit, and nothing else."""
    told = ("my/<slug:code>", "kits/<slug:code>", "jobs/<slug:code>")
    routes = {one.name: str(one.pattern) for one in urls.urlpatterns if hasattr(one, "name")}
    ours = [n for n, at in routes.items() if n and at.startswith(told) and at.count("<") == 1]
    return sorted(ours)


# Asks why; tells what became of the kit and who signed; compares it; the drawing alone.
NOT_WORK = {"kit_why", "kit_sources", "kit_checks", "job_compare", "job_drawing"}
PAPER = {"job_hand_over", "job_site_sheet", "kit_labels", "kit_pick_sheet"}


@pytest.mark.parametrize("page", sorted({*_pages_of_a_job()} - NOT_WORK - PAPER))
def test_of_a_closed_job_no_page_offers_an_act(yard: Yard, kit: Kit, page: str) -> None:
    """Reached by its address, from an old tab: it says that the job is closed, and no more."""
    kit.job.crew.add(yard.tove.person)
    yard.tove.scan("close_kit", **about(kit))
    assert not fresh(kit).is_open
    code, seen = kit.code if page.startswith("kit") else kit.job.code, 0
    for who in (yard.tariq, yard.mona):
        client = Client()
        client.force_login(who.person)
        answer = client.get(reverse(page, args=[code]))
        if answer.status_code != 200:
            continue
        body = answer.content.decode().split("<main", 1)[1].split("</main>")[0]

        assert not re.findall(r"<(?:scan-pad|event-form|form)\b[^>]*>", body)
        assert "losed" in body
        seen += 1
    assert seen
