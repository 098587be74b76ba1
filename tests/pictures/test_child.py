"""Whatever happens to the decoding process, the server gets an answer in time."""

import os

import pytest

from inventory.pictures.child import Child, Limits
from inventory.pictures.errors import ChildDied

SHORT = Limits(cpu=1, wall=5.0, idle=30.0)


@pytest.fixture
def child_of():
    """Children of a hostile work, ended after the test."""
    made = []

    def make(name: str, limits: Limits = SHORT) -> Child:
        made.append(Child(f"tests.pictures.hostile_work:{name}", limits))
        return made[-1]

    yield make
    for child in made:
        child.close()


def ask(child: Child, answers: int = 1) -> list[tuple[dict, bytes]]:
    """The first answers of the child."""
    found: list[tuple[dict, bytes]] = []

    def more(head: dict, blob: bytes) -> bool:
        found.append((head, blob))
        return len(found) < answers

    child.ask({}, b"payload", more)
    return found


def test_a_crash_is_told_and_survived(child_of) -> None:
    """Signal 11 in the child; the server's process goes on."""
    with pytest.raises(ChildDied, match=r"the decoding process ended \(signal 11\)"):
        ask(child_of("crash"))


def test_a_child_that_sleeps_is_ended(child_of) -> None:
    """The wall clock ends it."""
    with pytest.raises(ChildDied, match="no answer within 1 seconds"):
        ask(child_of("sleep", Limits(wall=1.0)))


def test_a_child_that_spins_is_ended(child_of) -> None:
    """The processor's clock ends it before the wall clock does (SIGXCPU is signal 24)."""
    with pytest.raises(ChildDied, match="signal 24"):
        ask(child_of("spin", Limits(cpu=1, wall=300.0)))


def test_a_child_that_swells_is_ended(child_of) -> None:
    """No more than its share of memory."""
    with pytest.raises(ChildDied, match="the decoding process ended"):
        ask(child_of("swell", Limits(memory=600_000_000, wall=30.0)))


def test_a_child_is_kept_for_the_next_photo(child_of) -> None:
    """The same process answers again; its start is paid once."""
    child = child_of("echo")
    [(first, blob)] = ask(child)
    [(second, _)] = ask(child)

    assert first["pid"] == second["pid"] != os.getpid()
    assert blob == b"payload"


def test_the_asker_stops_the_answers(child_of) -> None:
    """After "enough" the next question gets its own answers, not the rest of the last."""
    child = child_of("echo")

    assert [head.get("number") for head, _ in ask(child, 3)] == [None, 1, 2]
    assert [head.get("number") for head, _ in ask(child, 2)] == [None, 1]


def test_an_asker_that_fails_leaves_no_half_conversation(child_of) -> None:
    """The child is ended, and the next question begins anew."""
    child = child_of("echo")

    def fail(head: dict, blob: bytes) -> bool:
        raise LookupError("no such thing")

    with pytest.raises(LookupError):
        child.ask({}, b"", fail)

    assert ask(child)[0][1] == b"payload"


def test_after_a_death_the_next_question_is_answered(child_of) -> None:
    """A child killed from outside is replaced."""
    child = child_of("echo")
    [(head, _)] = ask(child)
    os.kill(head["pid"], 9)
    child._process.wait(10)

    assert ask(child)[0][0]["pid"] != head["pid"]


def test_the_child_has_none_of_the_server_s_secrets(child_of, monkeypatch) -> None:
    """A decoder that is taken over finds no key in its environment."""
    monkeypatch.setenv("LASTBOLT_SECRET", "x")
    [(head, _)] = ask(child_of("echo"))

    assert not [name for name in head["environment"] if "LASTBOLT" in name or "DATABASE" in name]
