"""A crew asks for a part: it rings until it is taken, and the answer goes back to the crew."""

from datetime import UTC, datetime

import pytest

from kitting import asked_for
from kitting.models import Kit, PartRequest
from kitting.progress import fold
from tests.kitting.test_unboxing import bag, carry
from tests.kitting.yard import Yard, about

NOON = "2026-11-26T12:00:00Z"


def states(kit: Kit) -> list[tuple[str, str]]:
    return [(one.request.code, one.state) for one in asked_for.of_kit(kit)]


def test_a_request_rings_until_it_is_taken_and_ends_when_it_has_come(yard: Yard, kit: Kit) -> None:
    """Asked from the site, taken at the bench, answered with who and when, come."""
    done = yard.tariq.scan("request", "CT-TERM", kind="missing", quantity=1, **about(kit))
    assert (done.verdict, states(kit)) == ("applied", [("Q1", "rings")]), done.sentence
    assert done.sentence == "1 x bus end plug: the depot is asked for it as Q1."
    again = yard.tariq.scan("request", "CT-TERM", kind="missing", **about(kit))
    assert (again.verdict, len(states(kit))) == ("noted", 1)

    yard.wanda.scan("request_taken", target="Q1", **about(kit))
    assert states(kit) == [("Q1", "taken")]
    second = yard.mona.scan("request_taken", target="Q1", **about(kit))
    assert (second.verdict, second.sentence) == ("noted", "Q1: Wanda has taken it.")

    empty = yard.wanda.scan("request_answered", target="Q1", **about(kit))
    assert empty.sentence == "Say who brings it, or how it follows."
    fields = {"with": "tove", "due": NOON, "reason": "with the next van"}
    yard.wanda.scan("request_answered", target="Q1", **fields, **about(kit))
    [asked] = asked_for.open_ones()
    assert (asked.state, asked.answer.brings.name) == ("follows", "Tove")
    assert asked.due == datetime(2026, 11, 26, 12, tzinfo=UTC)
    assert asked.words == "Tove brings it, Thu 26 Nov 12:00, with the next van"

    yard.tariq.scan("request_come", target="Q1", **about(kit))
    assert (states(kit), asked_for.open_ones()) == ([("Q1", "come")], [])
    late = yard.tariq.scan("request_come", target="Q1", **about(kit))
    assert late.verdict == "stopped"


def test_a_request_undone_is_asked_for_no_more(yard: Yard, kit: Kit) -> None:
    """What somebody pressed in error rings nowhere; a step undone stands as before it."""
    done = yard.tariq.scan("request", "CT-TERM", kind="missing", **about(kit))
    taken = yard.wanda.scan("request_taken", target="Q1", **about(kit))
    yard.wanda.scan("undo", reverses=taken.id)
    assert states(kit) == [("Q1", "rings")]
    yard.tariq.scan("undo", reverses=done.id)
    assert states(kit) == []


def test_what_is_packed_instead_settles_what_is_missing(yard: Yard, kit: Kit) -> None:
    """Its bag is at the site: it waits in the bay; the crew's scan brings it, found by nobody."""
    yard.shelve("CT-TERM", 9)
    yard.wanda.scan("pick", "CT-TERM", quantity=2, **about(kit))
    ends = kit.packages.get(kind="bag", step="end").place
    for code in (kit.packages.get(kind="parcel").place.code, ends.code):
        assert yard.tariq.scan("unbox", code, **about(kit)).verdict in ("applied", "problem")
    yard.tariq.scan("missing", "CT-TERM", quantity=2, **about(kit))
    assert fold(kit).totals["CT-TERM"].missing == 2

    packed = yard.wanda.scan("pick", "CT-TERM", quantity=1, **about(kit))
    words = "1 x bus end plug picked. It stands in for what is missing: 1 x bus end plug."
    assert (packed.verdict, packed.sentence) == ("applied", words)
    now = fold(kit).totals["CT-TERM"]
    assert (now.missing, now.lost, now.at_depot, now.on_site, now.to_pick) == (1, 1, 1, 0, 0)
    seen = yard.tariq.scan("unbox", "CT-TERM", **about(kit))
    assert (seen.verdict, seen.sentence) == ("applied", "1 x bus end plug: seen at the site.")
    now = fold(kit).totals["CT-TERM"]
    assert (now.missing, now.lost, now.at_depot, now.on_site) == (1, 1, 0, 1)
    again = yard.tariq.scan("unbox", "CT-TERM", **about(kit))
    assert again.sentence.endswith("Of what was missing is found: 1 x bus end plug.")


@pytest.mark.parametrize(
    ("fields", "sentence"),
    [
        ({"text": "CT-TERM", "kind": "gone"}, "Say why: missing, damaged or the wrong one."),
        ({"kind": "missing"}, "Say what is asked for."),
        ({"text": "BRA", "kind": "missing"}, "This is not in {kit}. Put it back."),
    ],
)
def test_a_request_names_a_thing_of_the_kit_and_why(
    yard: Yard, kit: Kit, fields: dict[str, str], sentence: str
) -> None:
    """Nothing is asked for without both."""
    done = yard.tariq.scan("request", **fields, **about(kit))

    assert (done.verdict, done.sentence) == ("stopped", sentence.format(kit=kit.code))
    assert not PartRequest.objects.exists()


def test_another_crew_can_neither_ask_nor_end(yard: Yard, kit: Kit) -> None:
    """Their job is not there for Tove; a request is taken at the desk only."""
    yard.tariq.scan("request", "CT-TERM", kind="missing", **about(kit))
    refused = [
        yard.tove.scan("request", "CT-TERM", kind="missing", **about(kit)),
        yard.tove.scan("request_come", target="Q1", **about(kit)),
        yard.tariq.scan("request_taken", target="Q1", **about(kit)),
    ]

    assert [one.verdict for one in refused] == ["refused"] * 3
    assert states(kit) == [("Q1", "rings")]


def test_a_van_leaves_short_when_somebody_says_how_the_rest_follows(yard: Yard, kit: Kit) -> None:
    """Each item that is not aboard stands as a line until it comes; those aboard do not."""
    yard.shelve("CT-BRACKET", 2)
    mute = yard.mona.scan("leave_short", **about(kit))
    assert mute.sentence == "Say how the rest follows."
    fields = {"with": "tove", "due": NOON, "reason": "second run"}
    done = yard.mona.scan("leave_short", **fields, **about(kit))
    again = yard.mona.scan("leave_short", **fields, **about(kit))

    rows = asked_for.of_kit(kit)
    assert (done.verdict, again.verdict) == ("applied", "noted")
    assert {one.state for one in rows} == {"follows"}
    modules = [one for one in rows if one.request.item.code == "CT-MODULE"]
    assert [one.what for one in modules] == ["2 x battery module"]
    assert asked_for.following([kit.job])[kit.job_id][0].words.startswith("Tove brings it")


def left(kit: Kit) -> dict[str, int]:
    """Item -> how many of it stand as a line that has still to come."""
    open_ones = [one.request for one in asked_for.of_kit(kit) if not one.over]
    return {one.item.code: one.quantity for one in open_ones if one.item is not None}


def test_what_a_van_left_without_ends_by_the_scan_that_brings_it(yard: Yard, kit: Kit) -> None:
    """Loaded after all or seen at the site, by itself or in its bag; the rest stands with its
    answer until it comes; a scan taken back brings the line back."""
    yard.shelve("CT-TERM", 9)
    fields = {"with": "tove", "due": NOON, "reason": "second run"}
    yard.mona.scan("leave_short", **fields, **about(kit))
    short = left(kit)
    assert (short["CT-MODULE"], short["CT-TERM"]) == (2, 2)

    carry(yard, kit, "S1")
    assert left(kit)["CT-MODULE"] == 1
    rest = asked_for.of_kit(kit)[-1]
    assert (rest.what, rest.words) == (
        "1 x battery module",
        "Tove brings it, Thu 26 Nov 12:00, second run",
    )
    yard.box("S2")
    brought = yard.tariq.scan("unbox", "S2", **about(kit))
    assert brought.sentence.endswith(" 1 x battery module has come.")
    assert "CT-MODULE" not in left(kit)
    yard.tariq.scan("undo", reverses=brought.id)
    assert left(kit)["CT-MODULE"] == 1

    yard.wanda.scan("pick", "CT-TERM", quantity=2, **about(kit))
    assert left(kit)["CT-TERM"] == 2  # at the bench it has not come
    loaded = yard.wanda.scan("load", bag(kit, "end").code, **about(kit))
    assert "2 x bus end plug has come." in loaded.sentence
    assert set(short) - set(left(kit)) == {"CT-TERM"}


def test_what_a_crew_asked_for_ends_once_it_was_seen_at_the_site(yard: Yard, kit: Kit) -> None:
    """Not on its way there, and not by a scan of another thing; a bag by its own label."""
    yard.shelve("CT-TERM", 9)
    yard.wanda.scan("pick", "CT-TERM", quantity=2, **about(kit))
    ends = bag(kit, "end")
    yard.wanda.scan("load", ends.code, **about(kit))
    yard.tariq.scan("request", "CT-TERM", kind="missing", quantity=1, **about(kit))
    yard.tariq.scan("request", bag(kit, "join").code, kind="missing", **about(kit))
    carry(yard, kit, "S1")
    yard.tariq.scan("unbox", "S1", **about(kit))
    yard.tariq.scan("unbox", ends.code, **about(kit))
    assert states(kit) == [("Q1", "rings"), ("Q2", "rings")]

    yard.wanda.scan("pick", "CT-TERM", quantity=1, **about(kit))
    yard.wanda.scan("load", "CT-TERM", quantity=1, **about(kit))
    assert states(kit)[0] == ("Q1", "rings")
    came = yard.tariq.scan("unbox", "CT-TERM", **about(kit))
    assert (came.verdict, states(kit)[0]) == ("applied", ("Q1", "come")), came.sentence
    assert yard.tariq.scan("unbox", bag(kit, "join").code, **about(kit)).verdict == "problem"
    assert states(kit) == [("Q1", "come"), ("Q2", "come")]
