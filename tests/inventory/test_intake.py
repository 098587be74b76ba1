"""The only way in: each line judged alone, each event taken once, nothing lost."""

import json
import uuid

import pytest
from django.db import OperationalError, connection
from django.test.utils import CaptureQueriesContext

from inventory import audit, intake
from inventory.ledger.line import Line
from inventory.models import DeviceGap, Event, Finding, Holding, Movement, Outcome, Scan, Unit
from inventory.moving import Writing
from tests.firm import NOW, Firm, Phone, element_string

MODULE = element_string("A1")
BRACKETS = "09521234000020"


def counted() -> tuple[int, ...]:
    """How many rows there are of all that an event writes."""
    return tuple(m.objects.count() for m in (Event, Outcome, Scan, Movement, Finding))


def clean() -> bool:
    return [done for done in audit.run() if done.problems] == []


def test_an_event_moves_a_thing_and_is_kept_as_it_came(shop: Firm) -> None:
    """The line's bytes, its sum, a scan, a movement, an outcome and a mark are there."""
    line = shop.wanda.line("receive", MODULE, target="DOCK")
    result = shop.wanda.send(line)[0]

    event = Event.objects.get()
    assert (result.verdict, result.number, result.duplicate) == ("applied", 1, False)
    assert event.line == line
    assert event.outcomes.get().number == 2
    assert event.scan.unit == shop.unit("A1")
    assert shop.unit("A1").place == shop.dock
    assert clean()


def test_the_same_event_again_changes_nothing_and_gets_the_same_answer(shop: Firm) -> None:
    """I7: also years later, also after the thing has moved on."""
    line = shop.wanda.line("receive", BRACKETS, target="DOCK")
    first = shop.wanda.send(line)[0]
    shop.wanda.scan("put", BRACKETS, start="DOCK", target="BIN1")
    before = counted()
    again = shop.wanda.send(line, line)

    assert counted() == before
    for answer in again:
        assert answer.duplicate
        assert (answer.verdict, answer.sentence) == (first.verdict, first.sentence)
        assert (answer.number, answer.thing) == (first.number, first.thing)


def test_the_same_event_twice_in_one_batch_counts_once(shop: Firm) -> None:
    """A phone that put a line into its queue twice moves four brackets, not eight."""
    line = shop.wanda.line("receive", BRACKETS, target="DOCK")
    first, second = shop.wanda.send(line, line)

    assert (first.duplicate, second.duplicate) == (False, True)
    assert Holding.objects.get(place=shop.dock).quantity == 4


def test_another_body_under_a_known_id_changes_nothing(shop: Firm) -> None:
    """I8: even one blank more is another body."""
    line = shop.wanda.line("receive", BRACKETS, target="DOCK")
    shop.wanda.send(line)
    before = counted()
    answer = shop.wanda.send(line.replace('"v":1', '"v": 1'))[0]

    assert (answer.verdict, answer.kind) == ("refused", "other_body")
    assert answer.id == json.loads(line)["id"]
    assert counted() == before


def test_one_poisoned_event_does_not_hold_up_the_others(shop: Firm) -> None:
    """Of 200 lines six are refused, each with what was expected, and 194 are taken."""
    lines = [shop.wanda.line("receive", BRACKETS, target="DOCK") for _ in range(200)]
    poison = {
        57: ('"seq":57', '"seq":-1', "seq: expected a whole number 1 to 9007199254740992, got -1"),
        58: ('"id":"', '"id":"x', "id: expected a UUID of 36 characters, got "),
        61: (',"via"', ',"quantity":1e308,"via"', "quantity: expected a whole number 1 to 1000000"),
        62: (',"via"', ',"quantity":"NaN","via"', "quantity: expected a whole number 1 to 1000000"),
        63: (',"via"', f',"x":{"[" * 2000}{"]" * 2000},"via"', "line: expected "),
        64: (',"via"', ',"via":"tap","via"', "via: expected each field once, got 'keys'"),
    }
    for number, (old, new, _) in poison.items():
        lines[number - 1] = lines[number - 1].replace(old, new, 1)
    for number, year in ((59, "1970"), (60, "2099")):
        lines[number - 1] = lines[number - 1].replace('"at":"2026', f'"at":"{year}')
    answers = shop.wanda.send(*lines)

    assert [answer.line for answer in answers] == list(range(1, 201))
    refused = {a.line: a.sentence for a in answers if a.verdict == "refused"}
    assert set(refused) == set(poison)
    for number, (_, _, sentence) in poison.items():
        assert refused[number].startswith(sentence)
    assert {a.verdict for a in answers if a.line not in poison} == {"applied"}
    assert Holding.objects.get(place=shop.dock).quantity == 194 * 4
    assert clean()


def test_the_missing_number_of_a_poisoned_event_is_known(shop: Firm) -> None:
    """The device's number 2 never came: it stands in a gap until it does."""
    lines = [shop.wanda.line("receive", BRACKETS, target="DOCK") for _ in range(3)]
    shop.wanda.send(lines[0], "no event", lines[2])
    open_gaps = list(DeviceGap.objects.values_list("first", "last"))
    shop.wanda.send(lines[1])

    assert open_gaps == [(2, 2)]
    assert not DeviceGap.objects.exists()


def test_a_gap_closes_from_its_middle(shop: Firm) -> None:
    """I9: 1 and 9 came; then 5; then the rest but 3."""
    lines = [shop.wanda.line("receive", BRACKETS, target="DOCK") for _ in range(9)]
    shop.wanda.send(lines[0], lines[8])
    shop.wanda.send(lines[4])
    after_five = sorted(DeviceGap.objects.values_list("first", "last"))
    shop.wanda.send(*(lines[n] for n in (1, 3, 5, 6, 7)))

    assert after_five == [(2, 4), (6, 8)]
    assert list(DeviceGap.objects.values_list("first", "last")) == [(3, 3)]
    assert clean()


def test_a_phone_restored_from_an_old_copy_is_noticed(shop: Firm) -> None:
    """The same number under another id: both are kept, and somebody is told."""
    shop.wanda.scan("receive", BRACKETS, target="DOCK")
    shop.wanda.seq = 0
    answer = shop.wanda.scan("receive", BRACKETS, target="DOCK")

    assert answer.verdict == "applied"
    assert Finding.objects.get().kind == "device"
    assert Holding.objects.get(place=shop.dock).quantity == 8


def test_what_waited_is_done_when_the_thing_is_received(
    shop: Firm, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A step that came before goods-in waits; goods-in gives it a second, counting outcome."""

    def bring(writes: Writing) -> intake.Verdict:
        if writes.thing.unit is None or writes.thing.unit.place is None:
            return intake.Verdict("waiting", "Nobody has received this.")
        writes.unit(writes.thing.unit, shop.van)
        return intake.Verdict("applied", "It is on the van.")

    act = intake.Act("bring", frozenset({"technician"}), bring)
    monkeypatch.setitem(intake.ACTS, "bring", act)
    plain = shop.tariq.line("bring", "A1")  # a text that nobody knows yet
    label = shop.tariq.line("bring", MODULE)
    waiting = shop.tariq.send(plain, label)
    shop.wanda.scan("receive", MODULE, target="DOCK")
    again = shop.tariq.send(plain, label)

    assert [answer.verdict for answer in waiting] == ["waiting", "waiting"]
    assert again[0].verdict == "applied"
    assert again[0].sentence == "It is on the van."
    # The second finds it on the van already: an act's refusal to move is its answer.
    assert again[1].verdict == "stopped"
    assert shop.unit("A1").place == shop.van
    assert Outcome.objects.count() == 5
    assert clean()


def test_a_step_that_was_undone_does_not_wake(shop: Firm, monkeypatch: pytest.MonkeyPatch) -> None:
    """Somebody took the waiting scan back: goods-in moves nothing more."""

    def bring(writes: Writing) -> intake.Verdict:
        return intake.Verdict("waiting", "Nobody has received this.")

    act = intake.Act("bring", frozenset({"technician"}), bring)
    monkeypatch.setitem(intake.ACTS, "bring", act)
    line, broken = shop.tariq.line("bring", MODULE), shop.tariq.line("bring", MODULE)
    shop.tariq.send(line, broken)
    shop.tariq.scan("undo", reverses=json.loads(line)["id"])
    read = intake.parse

    def fails(raw: bytes | str) -> Line:
        return read("{") if raw == broken else read(raw)

    # One that cannot be judged again goes on waiting; what was received comes in all the same.
    monkeypatch.setattr(intake, "parse", fails)
    received = shop.wanda.scan("receive", MODULE, target="DOCK")

    assert received.verdict == "applied"
    for sent in (line, broken):
        assert Event.objects.get(uid=json.loads(sent)["id"]).outcomes.count() == 1
    assert clean()


def test_a_fault_in_an_act_loses_nothing(shop: Firm, monkeypatch: pytest.MonkeyPatch) -> None:
    """What a person did is kept and put before a person; the act's half steps are not."""

    def fall_over(writes: Writing) -> intake.Verdict:
        writes.unit(shop.unit("A1"), shop.van)
        raise ZeroDivisionError

    act = intake.Act("bring", frozenset({"warehouse"}), fall_over)
    monkeypatch.setitem(intake.ACTS, "bring", act)
    shop.wanda.scan("receive", MODULE, target="DOCK")
    lines = [shop.wanda.line("bring", MODULE), shop.wanda.line("receive", BRACKETS, target="DOCK")]
    answers = shop.wanda.send(*lines)

    assert [answer.verdict for answer in answers] == ["problem", "applied"]
    assert answers[0].sentence == intake.FAULT
    assert shop.unit("A1").place == shop.dock
    assert Finding.objects.get().event.step == "bring"
    assert clean()


def test_a_database_that_is_away_answers_nothing(
    shop: Firm, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The batch comes again; calling its events refused would lose them."""

    def gone(writes: Writing) -> intake.Verdict:
        raise OperationalError("disk full")

    act = intake.Act("bring", frozenset({"warehouse"}), gone)
    monkeypatch.setitem(intake.ACTS, "bring", act)
    line = shop.wanda.line("bring", MODULE)
    with pytest.raises(OperationalError):
        shop.wanda.send(line)

    assert not Event.objects.exists()


@pytest.mark.parametrize(
    ("step", "more", "sentence"),
    [
        # a device that nobody registered
        ("receive", {"device": str(uuid.UUID(int=5))}, "device: expected a registered device, got"),
        # a step nobody carries out
        ("dance", {}, "step: expected one of "),
    ],
)
def test_what_cannot_be_judged_is_refused_with_its_reason(
    shop: Firm, step: str, more: dict[str, str], sentence: str
) -> None:
    """Nothing is stored, the sentence says what was expected."""
    answer = shop.wanda.scan(step, MODULE, target="DOCK", **more)

    assert (answer.verdict, answer.kind) == ("refused", "not_allowed")
    assert answer.sentence.startswith(sentence)
    assert not Event.objects.exists()


def test_a_technician_may_not_receive(shop: Firm) -> None:
    """Who may send what is the act's to say."""
    answer = shop.tariq.scan("receive", MODULE, target="DOCK")

    assert (answer.verdict, answer.sentence) == ("refused", "You may not do this.")


def test_who_has_left_is_refused(shop: Firm) -> None:
    """The roles of somebody inactive open nothing."""
    shop.wanda.person.is_active = False

    assert shop.wanda.scan("receive", MODULE, target="DOCK").verdict == "refused"


def test_an_unknown_serial_is_taken_and_shown(shop: Firm) -> None:
    """Put away before it was received: it moves, provisional, and the office sees it."""
    answer = shop.wanda.scan("put", MODULE, target="BIN1")

    assert answer.verdict == "problem"
    assert shop.unit("A1").provisional
    assert shop.unit("A1").place == shop.bins[0]
    assert clean()


def test_an_unknown_code_is_kept_for_the_office(shop: Firm) -> None:
    """A text that means nothing moves nothing and is not lost."""
    answer = shop.wanda.scan("put", "WHATEVER-9", target="BIN1")

    assert answer.verdict == "problem"
    assert Scan.objects.get().read_as == "unknown"
    assert Finding.objects.get().kind == "code"


def test_what_is_stopped_names_nothing(shop: Firm) -> None:
    """It may belong to a job that is not this person's: the sentence alone speaks."""
    shop.wanda.scan("receive", MODULE, target="DOCK")
    answer = shop.wanda.scan("put", MODULE, target="NOWHERE")

    assert (answer.verdict, answer.thing) == ("stopped", {})


def test_the_mark_grows_with_each_transaction(shop: Firm) -> None:
    """Two entries an event; 45 events stand in three transactions of at most twenty."""
    lines = [shop.wanda.line("receive", BRACKETS, target="DOCK") for _ in range(45)]
    shop.wanda.send(*lines)

    sizes = [size for (size,) in intake.RecordMark.objects.order_by("size").values_list("size")]
    assert sizes[-1] == 90
    assert max(b - a for a, b in zip([0, *sizes], sizes, strict=False)) <= 40
    assert clean()


@pytest.mark.parametrize(
    "raw",
    [
        b"\xff\xfe",  # not UTF-8
        b"[]",  # not an object
        b"null",
        b"{}",
        b"",
        b'{"v":1' + b"," * 5000,  # too long
        json.dumps({"id": "\x00", "v": 1}).encode(),
        b"[" * 4000,
        b'{"v":1,"id":' + b"9" * 4000 + b"}",
    ],
)
def test_rubbish_is_answered_in_its_place(shop: Firm, raw: bytes) -> None:
    """The line after it is taken."""
    good = shop.wanda.line("receive", MODULE, target="DOCK")
    answers = intake.take(shop.wanda.person, [raw, good], NOW)

    assert [answer.verdict for answer in answers] == ["refused", "applied"]
    assert answers[0].kind == "malformed"
    assert "expected" in answers[0].sentence


def test_two_phones_of_one_person_count_apart(shop: Firm) -> None:
    """Numbers belong to a device."""
    other: Phone = shop.phone(shop.wanda.person)
    shop.wanda.scan("receive", MODULE, target="DOCK")
    other.scan("put", MODULE, target="BIN1")

    assert not DeviceGap.objects.exists()
    assert Unit.objects.get().place == shop.bins[0]


@pytest.mark.parametrize(("text", "most"), [("A1", 16), (MODULE, 19)])
def test_a_scan_costs_few_statements(shop: Firm, text: str, most: int) -> None:
    """Reads and writes of one move, without what opens and closes the transaction."""
    shop.wanda.scan("receive", MODULE, target="DOCK")
    shop.wanda.scan("put", MODULE, target="BIN1")
    shop.wanda.scan("put", MODULE, target="BIN2")
    with CaptureQueriesContext(connection) as asked:
        shop.wanda.scan("put", text, target="BIN1")
    words = ("SELECT", "INSERT", "UPDATE", "DELETE")
    work = [q["sql"] for q in asked if q["sql"].startswith(words) and "advisory" not in q["sql"]]

    assert len(work) <= most
