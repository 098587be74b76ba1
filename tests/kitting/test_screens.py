"""What the electronics show beside what was scanned: serials by their ends, numbers, ohms."""

import pytest

from inventory.models import Finding, Scan
from kitting import as_built, bus_measuring, screens
from kitting.models import AsBuilt, BusReading, Kit, ScreenReading
from tests.kitting.test_unboxing import carry
from tests.kitting.yard import Yard, about
from tests.stories.counting_hands import Hands

FIRST, SECOND = ({"stack": 1, "level": n} for n in (1, 2))
SERIALS = ("CM26-00188", "CM26-01177")


@pytest.fixture
def fitted(yard: Yard, kit: Kit) -> Kit:
    """Two modules stand, with serials as a maker prints them."""
    carry(yard, kit, *SERIALS)
    for serial, place in zip(SERIALS, (FIRST, SECOND), strict=True):
        yard.tariq.scan("unbox", serial, **about(kit))
        done = yard.tariq.scan("fit", serial, position=place, **about(kit))
        assert done.verdict == "applied", done.sentence
    return kit


def shown(yard: Yard, kit: Kit, ends: str = "", **more: object) -> str:
    """Tell what the screen shows; return the verdict."""
    return yard.tariq.scan("commission", ends, kind="screen", **more, **about(kit)).verdict


def on_screen(kit: Kit) -> list[str]:
    """What the comparison says of each standing thing, and of what is none."""
    found = screens.compare(kit)
    return [
        *(f"{row.stands.serial} {row.number if row.read else 'unread'}" for row in found.rows),
        *(f"stranger {read.ends}" for read in found.strangers),
    ]


def test_the_end_of_a_serial_names_the_thing_that_stands(yard: Yard, fitted: Kit) -> None:
    """Four characters, in small letters or with blanks; number and firmware are kept apart."""
    assert shown(yard, fitted, "0188", number=2, firmware="2.1.0") == "applied"
    assert shown(yard, fitted, "6-01177", number=1, firmware="2.1.0") == "applied"

    rows = AsBuilt.objects.order_by("level").values_list("number", "firmware")
    assert list(rows) == [(2, "2.1.0"), (1, "2.1.0")]
    assert screens.compare(fitted).agrees
    assert Scan.objects.get(text="0188").unit.serial == SERIALS[0]


@pytest.mark.parametrize(
    ("ends", "words"),
    [
        ("188", "Expected the last 4 to 8 characters, got 3"),
        ("CM26-00188", "a serial is scanned, never typed in full"),
        ("01\u041188", "expected plain ASCII characters"),  # a Cyrillic letter
        ("", "Type the last 4 characters"),
    ],
)
def test_too_little_too_much_and_nothing_are_stopped(
    yard: Yard, fitted: Kit, ends: str, words: str
) -> None:
    """A serial is never typed in full: it would repeat what somebody believes."""
    done = yard.tariq.scan("commission", ends, kind="screen", **about(fitted))

    assert (done.verdict, words in done.sentence) == ("stopped", True)
    assert not ScreenReading.objects.exists()


def test_two_that_end_alike_are_a_question(yard: Yard, kit: Kit) -> None:
    """More characters tell them apart."""
    carry(yard, kit, "CM26-A0188", "CM26-B0188")
    for serial, place in (("CM26-A0188", FIRST), ("CM26-B0188", SECOND)):
        yard.tariq.scan("unbox", serial, **about(kit))
        yard.tariq.scan("fit", serial, position=place, **about(kit))

    done = yard.tariq.scan("commission", "0188", kind="screen", **about(kit))

    assert (done.verdict, "Type more of it" in done.sentence) == ("stopped", True)
    assert shown(yard, kit, "B0188", number=1) == "applied"
    assert on_screen(kit) == ["CM26-A0188 unread", "CM26-B0188 1"]


def test_a_photo_of_the_screen_stands_for_the_characters(yard: Yard, fitted: Kit) -> None:
    """The place is chosen; without a photo it is no proof."""
    without = shown(yard, fitted, number=1, position=SECOND)
    done = shown(yard, fitted, number=1, position=SECOND, photo="c" * 64)

    assert (without, done) == ("stopped", "applied")
    assert on_screen(fitted) == [f"{SERIALS[0]} unread", f"{SERIALS[1]} 1"]
    assert screens.compare(fitted).rows[1].photo == "c" * 64


def test_on_screen_and_never_scanned_is_a_problem_until_it_is(yard: Yard, kit: Kit) -> None:
    """The module was set in without a scan; the scan settles it."""
    carry(yard, kit, *SERIALS)
    for serial in SERIALS:
        yard.tariq.scan("unbox", serial, **about(kit))
    yard.tariq.scan("fit", SERIALS[0], position=FIRST, **about(kit))

    assert shown(yard, kit, "1177", number=2) == "problem"
    assert on_screen(kit) == [f"{SERIALS[0]} unread", "stranger 1177"]
    assert "nothing scanned here ends so" in Finding.objects.get(answer=None).words

    yard.tariq.scan("fit", SERIALS[1], position=SECOND, **about(kit))

    assert on_screen(kit) == [f"{SERIALS[0]} unread", f"{SERIALS[1]} 2"]
    assert (
        Finding.objects.get(kind="wrong").answer.words
        == f"battery module {SERIALS[1]} was scanned."
    )


def test_scanned_and_not_on_screen_is_told_when_the_list_ends(yard: Yard, fitted: Kit) -> None:
    """Until then it is only not read yet; read later, the problem is settled."""
    shown(yard, fitted, "0188", number=1)
    assert not Finding.objects.filter(kind="wrong").exists()

    ended = yard.tariq.scan("compare_screen", **about(fitted))
    again = yard.tariq.scan("compare_screen", **about(fitted))

    assert (ended.verdict, ended.sentence) == ("problem", "1 scanned, not on the screen.")
    assert again.verdict == "problem"
    finding = Finding.objects.get(kind="wrong")
    assert finding.words == f"battery module {SERIALS[1]} (stack 1, place 2) is not on the screen."

    shown(yard, fitted, "1177", number=2)
    agreed = yard.tariq.scan("compare_screen", **about(fitted))

    finding.refresh_from_db()
    assert finding.answer.words == f"battery module {SERIALS[1]} is on the screen."
    assert (agreed.verdict, agreed.sentence) == ("applied", "All 2 agree: screen and scans.")

    shown(yard, fitted, "4711", number=3)
    more = yard.tariq.scan("compare_screen", **about(fitted))

    assert (more.verdict, more.sentence) == ("problem", "1 on the screen, not scanned.")


@pytest.mark.parametrize(
    ("numbers", "said"),
    [
        ((1, 2), ""),  # from below
        ((2, 1), ""),  # from above
        ((7, 9), ""),  # gaps are another stack's
    ],
)
def test_numbers_from_below_or_above_are_in_order(
    yard: Yard, fitted: Kit, numbers: tuple[int, int], said: str
) -> None:
    """Makers number from either end."""
    for end, number in zip(("0188", "1177"), numbers, strict=True):
        shown(yard, fitted, end, number=number)

    assert screens.compare(fitted).order == said


def test_numbers_in_another_order_are_told_and_nothing_is_changed(yard: Yard) -> None:
    """By day made: 2, 1, 3 from below. Place and number stay two things."""
    kit = yard.kit(yard.job(stacks=[{"modules": 3}]))
    serials = ("CM26-K0001", "CM26-K0002", "CM26-K0003")
    carry(yard, kit, *serials)
    for level, (serial, number) in enumerate(zip(serials, (2, 1, 3), strict=True), 1):
        yard.tariq.scan("unbox", serial, **about(kit))
        yard.tariq.scan("fit", serial, position={"stack": 1, "level": level}, **about(kit))
        shown(yard, kit, serial[-4:], number=number, firmware=f"2.{number // 3}")

    found = screens.compare(kit)
    assert found.order == "stack 1 from below: 2, 1, 3"
    assert found.agrees
    assert found.firmwares == (("battery module", "2.0", 2), ("battery module", "2.1", 1))


def test_a_reading_undone_is_no_reading(yard: Yard, fitted: Kit) -> None:
    """The record folds again to what is left; the number goes with it."""
    done = yard.tariq.scan("commission", "0188", kind="screen", number=4, **about(fitted))
    shown(yard, fitted, "1177", number=5, firmware="2.2")
    yard.tariq.scan("undo", reverses=done.id)

    assert on_screen(fitted) == [f"{SERIALS[0]} unread", f"{SERIALS[1]} 5"]
    fields = ("level", "number", "firmware")
    assert list(AsBuilt.objects.values_list(*fields)) == [(1, None, ""), (2, 5, "2.2")]
    assert as_built.refold(yard.site.place) == 2
    assert list(AsBuilt.objects.values_list(*fields)) == [(1, None, ""), (2, 5, "2.2")]


def test_firmware_of_an_old_line_still_counts(yard: Yard, fitted: Kit) -> None:
    """Lines of the first version told it as their reason."""
    yard.tariq.scan("commission", SERIALS[0], reason="1.9", **about(fitted))
    yard.tariq.scan("commission", SERIALS[1], firmware="2.0", reason="", **about(fitted))

    assert list(AsBuilt.objects.values_list("firmware", flat=True)) == ["1.9", "2.0"]
    assert as_built.refold(yard.site.place) == 2
    assert list(AsBuilt.objects.values_list("firmware", flat=True)) == ["1.9", "2.0"]


def test_ohms_are_judged_and_a_better_reading_settles_a_bad_one(yard: Yard, kit: Kit) -> None:
    """One end missing (120), then 60; a line that the job does not have is refused."""

    def measure(bus: str, ohm: int) -> str:
        return yard.tariq.scan("measure_bus", kind=bus, number=ohm, **about(kit)).verdict

    assert list(bus_measuring.names_of(kit)) == ["stack bus 1"]
    assert measure("system bus", 60) == "stopped"
    assert measure("stack bus 1", 120) == "problem"
    assert "One end is missing" in Finding.objects.get(answer=None).words
    assert measure("stack bus 1", 60) == "applied"

    assert BusReading.objects.count() == 2
    assert Finding.objects.get(kind="wrong").answer.words == "It was measured again: 60 ohm."
    line = bus_measuring.lines_of(kit)[0]
    assert (line.ohm, line.right) == (60, True)


def test_two_stacks_have_a_line_each_and_one_between(yard: Yard) -> None:
    """By the parts list: a stack bus each, a system bus from two stacks on."""
    kit = yard.kit(yard.job(stacks=[{"modules": 2}, {"modules": 2}], gap=300))

    assert list(bus_measuring.names_of(kit)) == ["stack bus 1", "stack bus 2", "system bus"]


def test_the_page_leads_through_it(yard: Yard, fitted: Kit) -> None:
    """The caution stands before the ohms; four characters a thing, one touch to say that is all."""
    hands = Hands(yard.tariq.person).begin(f"/my/{fitted.job.code}/")
    hands.follow("Start up")
    html = hands.client.get(f"/my/{fitted.job.code}/start").content.decode()

    assert html.index("prove it dead before a plug is drawn") < html.index(
        "Whole ohms on the meter"
    )
    assert html.index("order in which this system is switched on") < html.index(
        "Last 4 of the serial"
    )
    assert hands.fill("Enter the ohms", number="60") == "applied"
    assert hands.fill("Enter it", number="1", text="0188", firmware="2.1.0") == "applied"
    assert hands.fill("Enter it", number="2", text="9999", firmware="2.1.0") == "problem"
    assert hands.press("The screen shows no more") == "problem"
    assert hands.typed == 2 + 2 * (1 + 4 + 5)

    html = hands.client.get(f"/my/{fitted.job.code}/start").content.decode()
    told = (
        "60 ohm",
        "On the screen, not scanned here",
        'ends in <strong class="code">9999',
        "Scanned, not on the screen yet",
        'value="2.1.0"',
    )
    assert [words for words in told if words not in html] == []
    # Who reads a screen is not shown what it should show.
    assert ("CM26-00188" in html, "1177" in html) == (True, False)

    hands.begin(f"/my/{fitted.job.code}/start")
    assert hands.press("Typed wrong: take it back") == "applied"
    assert not screens.compare(fitted).strangers
    assert not Finding.objects.filter(words__contains="9999", answer=None).exists()
