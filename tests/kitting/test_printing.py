"""Pick, site and hand-over sheets, read back by programs that did not write them."""

from __future__ import annotations

import re
from collections import Counter
from io import StringIO
from pathlib import Path
from typing import Any

import pytest
from django.core.management import CommandError, call_command
from django.test import Client
from django.urls import reverse
from pytest_django import DjangoAssertNumQueries

from inventory.models import Item
from inventory.queries import latest_mark
from inventory.scanning import resolve
from kitting import families, hand_lines, packing, signing
from kitting.draft import summary_of
from kitting.drawing import drawing_of
from kitting.models import Kit, Package
from kitting.plan import kit as plan
from kitting.plan.configuration import parse
from kitting.printing import handover, paper, pick, site
from kitting.printing import parts as shape
from kitting.progress import fold
from tests.counts import counts
from tests.kitting import yard as yards
from tests.kitting.test_unboxing import carry
from tests.kitting.yard import Yard, about, fresh
from tests.printed import Sheet

pytestmark = pytest.mark.sqlite_only  # paper, the same from either database

BIG: dict[str, Any] = {
    "stacks": [{"modules": 5}] * 3,
    "gap": 300,
    "place": "outdoor",
    "vehicle": "none",
    "restraint": "required",
    "ac_way": "conduit",
    "ac_run": 9200,
}
SMALLEST = 12.0  # points of white at every edge: 4 mm


@pytest.fixture
def big(db: None) -> tuple[Yard, Kit]:
    """Three stacks of five: 80 lines and their spares; some lie on shelves, most nobody counted."""
    yard = yards.build()
    for code, quantity, place in (
        ("CT-CLAMP-L", 30, 0),
        ("CT-BOLT6", 50, 1),
        ("CT-BOLT6", 20, 2),
        ("CT-GASKET", 100, 2),
    ):
        yard.shelve(code, quantity, yard.firm.bins[place])
    yard.box("S1")
    yard.box("S2")
    return yard, yard.kit(yard.job(**BIG))


def in_whole_ml(quantity: int, unit: str) -> int:
    """As it is printed: of what is squeezed out, whole millilitres."""
    return -(-quantity // 1000) * 1000 if unit == "ul" else quantity


def test_a_pick_sheet_has_every_line_once_with_its_quantity(big: tuple[Yard, Kit]) -> None:
    """Summed over the bins a line is split over, by item and bag; on A4 and on Letter."""
    _, kit = big
    bags = dict(kit.packages.filter(kind=Package.Kind.BAG).values_list("step", "place__name"))
    wanted: Counter[tuple[str, str]] = Counter()
    stays = {row.line.pk: row.in_boxes + row.on_van for row in fold(kit).lines}
    for line in lines_of(kit):
        into = bags[line.step] if packing.in_a_bag(line.item) else "the bay"
        quantity = in_whole_ml(line.quantity, line.unit)
        wanted[line.item.code, into] += quantity - stays[line.pk]
        wanted[line.item.code, "stays there"] += stays[line.pk]
    wanted = +wanted
    codes = {code for code, _ in wanted}

    assert kit.lines.count() > 80
    for size, millimetres in (("A4", (210.0, 297.0)), ("Letter", (215.9, 279.4))):
        sheet = Sheet(pick.pdf(kit, size))
        printed: Counter[tuple[str, str]] = Counter()
        for code, quantity, into in sheet.rows(codes):
            printed[code, into] += quantity
        assert printed == wanted
        assert {millimetres} == sheet.sizes
        assert sheet.outside(SMALLEST) == []
        for number, page in enumerate(sheet.pages, 1):
            texts = [word.text for word in page]
            assert f"Page {number} of {len(sheet.pages)}" in texts
            assert f"Pick sheet {kit.code}" in texts
            assert any(str(latest_mark()["root"]) in text for text in texts)
    told = sheet.text
    assert told.index("Take from the shelves") < told.index("Bin 1") < told.index("Bin 2")
    assert told.index("Bin 2") < told.index("Bin 3") < told.index("Look for")
    assert "Short: bolt M6x16: 84 needed, 70 here" in told
    assert "S1, S2 or another" in told
    assert "test due" in told[told.index("CT-TORQ") :][:60]


def test_a_pick_sheet_asks_no_question_for_each_line(
    big: tuple[Yard, Kit], django_assert_max_num_queries: DjangoAssertNumQueries
) -> None:
    """Three stacks, some ninety lines: what is asked is the stock and this kit, not each code."""
    kit = fresh(big[1])
    with django_assert_max_num_queries(56):
        pick.pdf(kit, "A4")


def test_every_code_of_a_pick_sheet_is_taken_by_the_scan_page(yard: Yard, kit: Kit) -> None:
    """Each item's code picks what its lines need; bags and bay are known; the parcel loads."""
    items = {line.item.code for line in lines_of(kit) if line.item.tracking != "serial"}
    places = {package.place.code: package for package in kit.packages.select_related("place")}
    read = Sheet(pick.pdf(kit, "A4")).codes()

    assert items | {code for code, one in places.items() if one.kind != "load"} == set(read)
    needed = {code: total.to_pick for code, total in fold(kit).totals.items()}
    verdicts = set()
    scanned = sorted(code for code in items if needed[code])[:: counts(4, 1)]
    assert all(resolve(code).item.code == code for code in items)  # type: ignore[union-attr]
    for text in scanned:
        done = yard.wanda.scan("pick", text, quantity=needed[text], **about(kit))
        verdicts.add(done.verdict)
    assert verdicts <= {"applied", "problem"}
    assert all(fold(kit).totals[code].to_pick == 0 for code in scanned)
    for text, package in places.items():
        step, told = ("load", "applied") if package.kind == "parcel" else ("pick", "noted")
        if package.kind != "load":
            assert yard.wanda.scan(step, text, **about(kit)).verdict == told
    again = Sheet(pick.pdf(fresh(kit), "A4"))
    assert "Packed before this sheet was printed" in again.text


def test_a_site_sheet_tells_every_step_with_its_cautions_and_lines(big: tuple[Yard, Kit]) -> None:
    """Each line once with its quantity; cautions, tasks, runs and torques at their step."""
    _, kit = big
    file = site.pdf(kit, "A4")
    sheet = Sheet(file)
    wanted = Counter(
        (line.item.code, in_whole_ml(line.quantity, line.unit)) for line in lines_of(kit)
    )
    rows = sheet.rows({code for code, _ in wanted})

    assert Counter((code, quantity) for code, quantity, _ in rows) == wanted
    assert sheet.outside(SMALLEST) == []
    told = " ".join(sheet.text.split())
    titles = [f"{n} {step['title']}" for n, step in enumerate(kit.snapshot["steps"], 1)]
    starts = [re.search(rf"\b{title}\b", told).start() for title in titles]  # type: ignore[union-attr]
    assert starts == sorted(starts)
    keys = [step["key"] for step in kit.snapshot["steps"]]
    for caution in kit.snapshot["cautions"]:
        at = keys.index(caution["step"])
        part = told[starts[at] : [*starts, len(told)][at + 1]]
        assert caution["words"] in part
        assert f"Who decides: {caution['decides']}." in part
    for step in kit.snapshot["steps"]:
        assert all(task in told for task in step["tasks"])
    assert "cut 10.2 m" in told
    assert "6 x ferrule 10" in told
    # ISO 898-1 class 8.8, M8, friction 0.12: 24.6 Nm (VDI 2230-1:2003, printed in its tables).
    assert "8.8: 24.6 Nm" in told
    assert "safe" not in told.lower()
    assert file == site.pdf(kit, "A4")


def lines_of(kit: Kit) -> list[Any]:
    return list(kit.lines.select_related("item"))


def test_the_stack_is_drawn_to_scale(big: tuple[Yard, Kit]) -> None:
    """A module of 620 x 340 mm and the bar of 500 mm at one to twenty."""
    _, kit = big
    sheet = Sheet(site.pdf(kit, "A4"))
    assert "1 to 20 at full size" in sheet.text
    point, line = 72 / 25.4 / 20, 2 * 1.3  # a line of 1.3 points counts whole on both sides
    module = (620 * point + line, 340 * point + line)
    drawn = [wh for wh in sheet.outlines(0) if wh == pytest.approx(module, abs=0.05)]

    assert len(drawn) == 15
    assert any(w == pytest.approx(500 * point + 2, abs=0.05) for w, _ in sheet.outlines(0))
    assert {"Stack 1", "Stack 2", "Stack 3"} <= {word.text for word in sheet.pages[0]}


def test_a_sheet_prints_in_the_first_hour(yard: Yard) -> None:
    """Nothing released, nothing in stock, nobody's letters: names wrap and none is cut off."""
    long = "Łącznik ćwierćobrotowy, długa nazwa części, " + "bardzodługiesłowobezprzerwy" * 2
    Item.objects.filter(code="CT-BOLT6").update(name=long)
    kit = packing.work_out_kit(yard.job(), yard.mona.person)
    Item.objects.filter(code="CT-CLAMP-R").update(code="ZACISK-Ł")
    for print_, title in ((pick.pdf, "Look for"), (site.pdf, "Not released yet")):
        for size in paper.SIZES:
            sheet = Sheet(print_(kit, size))
            assert title in sheet.text
            assert sheet.outside(SMALLEST) == []
            assert long.replace(" ", "") in re.sub(r"\s", "", sheet.text)
    assert "no code: type it" in Sheet(pick.pdf(kit, "A4")).text
    many = [shape.words(f"line {n}") for n in range(200)]
    running = paper.Running("Many lines", "", "mark")
    boxed = Sheet(paper.written([shape.boxed(many, paper.width("A4"))], running, "A4"))
    assert all(f"line {n}" in boxed.text for n in range(200))
    assert len(boxed.pages) > 1


def test_a_hand_over_sheet_tells_what_stands_and_what_is_open(yard: Yard, kit: Kit) -> None:
    """The serial in its place, the number on its screen, the open problem, the record mark."""
    carry(yard, kit, "S1", "S2")
    yard.tariq.scan("fit", "S1", position={"stack": 1, "level": 2}, number=7, **about(kit))
    yard.tariq.scan("missing", "CT-BOLT6", quantity=2, **about(kit))
    told = Sheet(handover.pdf(fresh(kit), "A4")).text

    row = told[told.index("What stands there") :]
    assert re.search(r"1 2 battery module S1 7", row)
    assert "S2" not in row
    assert "Missing" in row[row.index("Still open") :]
    assert str(latest_mark()["root"]) in told
    assert f"all {latest_mark()['size']} entries" in told
    assert kit.job.site.place.code in told
    assert "Tariq (tariq)" in told
    assert "Continuity of the protective conductor" in told


def test_the_head_that_still_stands_is_no_module(yard: Yard, kit: Kit) -> None:
    """An expansion by one module: at place 3 stands the head until it is lifted; the sheet says so,
    keeps a line for the module's serial, and no drawing shows the place as fitted."""
    carry(yard, kit, "S1", "S2")
    power = yard.box("P1", "CT-POWER")
    for step in ("pick", "load", "unbox"):
        (yard.tariq if step == "unbox" else yard.wanda).scan(step, power.serial, **about(kit))
    for serial, level in (("S1", 1), ("S2", 2), ("P1", 3)):
        done = yard.tariq.scan("fit", serial, position={"stack": 1, "level": level}, **about(kit))
        assert done.verdict in ("applied", "problem"), done.sentence
    before = {"stacks": [{"modules": 2}]}
    grown = yard.kit(yard.job(job="expansion", before=before, stacks=[{"modules": 3}]))
    drawing = drawing_of(grown, fold(grown))
    told = Sheet(site.pdf(grown, "A4")).text

    assert drawing is not None
    states = {shape.position: shape.state for shape in drawing.shapes if shape.position}
    assert states == {"1/1": "fitted", "1/2": "fitted", "1/3": "needed", "1/4": "needed"}
    assert re.search(r"1 3 battery module now: power unit P1", told)


def test_changes_by_hand_and_both_ways_are_told_at_their_line(yard: Yard) -> None:
    """A changed line with what the parts list said and why, a dropped one by name, cut pieces, and
    what is needed only for one answer to a question that travels along."""
    job = yard.job(ac_od="unknown", take_both=["ac_od"])
    packing.work_out_kit(job, yard.mona.person)
    boss = {"reason": "seen by Mona", "by": yard.mona.person}
    for code, step, verb, quantity in (
        ("CT-BOLT6", "join", "change", 40),
        ("CT-HAMMER", "fix", "drop", 0),
    ):
        item = Item.objects.get(code=code)
        hand_lines.put(job, item=item, step=step, verb=verb, quantity=quantity, **boss)
    kit = fresh(job.kit)
    question = "What is the mains cable's diameter as measured?"
    for print_ in (pick.pdf, site.pdf):
        sheet = Sheet(print_(kit, "A4"))
        told = " ".join(sheet.text.split())
        assert "hammer drill is left out: seen by Mona" in told
        assert "by hand: seen by Mona" in told
        assert f"Both ways are taken: {question} The unused set comes back." in told
        assert "take both: 1 only if it is 8 mm to 12 mm" in told
        # A locknut that each answer takes is no question.
        assert "take both" not in told[told.index("Locknut M32") :][:60]
        assert "in one piece" in told
        rows = [(code, count) for code, count, _ in sheet.rows({"CT-BOLT6", "CT-HAMMER"})]
        assert ("CT-BOLT6", 40) in rows
        assert "CT-HAMMER" not in {code for code, _ in rows}
    manager = Client()
    manager.force_login(yard.mona.person)
    shown = manager.get(reverse("kit", args=[kit.code])).content.decode()
    assert "1 only if it is 8 mm to 12 mm. What is not used comes back." in shown
    why = manager.get(reverse("kit_why", args=[kit.code]), {"item": "CT-G20"}).content.decode()
    assert "1 only if it is 8 mm to 12 mm: that is not known yet" in why, why[why.index("<main") :]


def test_a_swap_keeps_a_line_for_the_new_serial(yard: Yard, kit: Kit) -> None:
    """What stands there is named as it is now; the other place keeps its serial."""
    carry(yard, kit, "S1", "S2")
    for serial, level in (("S1", 1), ("S2", 2)):
        yard.tariq.scan("fit", serial, position={"stack": 1, "level": level}, **about(kit))
    swap = yard.kit(yard.job(job="swap", swap=[{"stack": 1, "level": 2}]))
    told = Sheet(site.pdf(swap, "A4")).text

    assert "1 1 battery module S1" in told
    assert "1 2 battery module now: battery module S2" in told
    assert re.search(r"\b1 Battery module \(taken down\)", told[told.index("What comes back") :])


def test_a_removal_tells_what_comes_back(yard: Yard, kit: Kit) -> None:
    """Both modules of the tower are on the list to tick."""
    carry(yard, kit, "S1", "S2")
    for serial, level in (("S1", 1), ("S2", 2)):
        yard.tariq.scan("fit", serial, position={"stack": 1, "level": level}, **about(kit))
    removal = yard.kit(yard.job(job="removal"))
    told = Sheet(site.pdf(removal, "A4")).text
    back = told[told.index("What comes back") :]

    assert re.search(r"\b2 Battery module \(taken down\)", back)


def test_what_a_code_asks_is_signed_before_release_and_printed(yard: Yard, settings: Any) -> None:
    """PAS 63100:2024: four questions to a person, one label; a removal asks nothing."""
    settings.CODE = "PAS 63100:2024"
    kit = packing.work_out_kit(yard.job(), yard.mona.person)
    manager = Client()
    manager.force_login(yard.mona.person)
    where = reverse("kit_checks", args=[kit.code])
    told = Sheet(site.pdf(kit, "A4")).text
    distance = next(one for one in signing.checks(kit) if "flammable" in one.question)
    with pytest.raises(packing.Refused) as refused:
        packing.release(kit, yard.mona.person)
    html = manager.get(where).content.decode()
    for check in signing.checks(kit):
        words = {"question": check.question, "words": "3.5 m, seen by Mona"}
        assert manager.post(where, words).status_code == 302
    packing.release(fresh(kit), yard.mona.person)
    after = Sheet(site.pdf(fresh(kit), "A4")).text
    removal = packing.work_out_kit(yard.job(job="removal"), yard.mona.person)

    assert [r.rule for r in refused.value.reasons] == ["check"] * 4
    assert "How far is it to stored flammable things? At least 2 m" in distance.asked
    assert (html.count("What was seen or measured"), html.count("How many")) == (4, 0)
    assert told.count("PAS 63100:2024 asks") == 2
    assert "4 questions about the place are not signed yet." in told
    assert told.index("How far is it to stored flammable") < told.index("Foot")
    assert told.index("Put on the labels.") < told.index("Warning label for the battery")
    assert after.count("3.5 m, seen by Mona") == 4
    assert (
        "What PAS 63100:2024 asks here"
        in manager.get(reverse("kit", args=[kit.code])).content.decode()
    )
    assert signing.checks(removal) == []
    family = families.family_of(kit.edition)
    draft = summary_of(family, plan.work_out(family, parse(kit.snapshot["configuration"], family)))
    assert {check.asked for check in signing.checks(kit)} <= set(draft.open)


def test_pages_lead_to_the_sheets(yard: Yard, kit: Kit, tmp_path: Path) -> None:
    """From kit, kits, job and the crew's page; the paper by setting, by address, by command."""
    manager, crew = Client(), Client()
    manager.force_login(yard.mona.person)
    crew.force_login(yard.tariq.person)
    picked = reverse("kit_pick_sheet", args=[kit.code])
    at_site = reverse("job_site_sheet", args=[kit.job.code])
    for page in (
        reverse("kit", args=[kit.code]),
        reverse("kits"),
        reverse("job", args=[kit.job.code]),
    ):
        html = manager.get(page).content.decode()
        assert (picked in html, at_site in html) == (True, True)
    mine = crew.get(reverse("my_job", args=[kit.job.code])).content.decode()
    assert (picked in mine, at_site in mine) == (False, True)
    answer = crew.get(at_site, {"paper": "letter"})
    assert answer.headers["Content-Type"] == "application/pdf"
    assert {(215.9, 279.4)} == Sheet(answer.content).sizes
    assert crew.get(at_site, {"paper": "A3"}).status_code == 404
    planned = yard.job()
    assert manager.get(reverse("job_site_sheet", args=[planned.code])).status_code == 404
    file = tmp_path / "sheet.pdf"
    call_command(
        "sheet", "handover", kit.job.code, out=str(file), paper="Letter", stdout=StringIO()
    )
    assert {(215.9, 279.4)} == Sheet(file.read_bytes()).sizes
    for wrong in (("pick", "J9999", "A4"), ("pick", kit.code, "A3")):
        with pytest.raises(CommandError, match="expected"):
            call_command("sheet", wrong[0], wrong[1], out=str(file), paper=wrong[2])
