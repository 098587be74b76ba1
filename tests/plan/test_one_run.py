"""Whole stacks from one run, against every choice there is."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta
from itertools import combinations

from hypothesis import example, given
from hypothesis import strategies as st

from kitting.plan import one_run
from kitting.plan.made_within import Room
from kitting.plan.one_run import MOST, OLDEST, Stored, Wanted, choose, largest

FIRST = date(2026, 1, 1)
ON = date(2026, 12, 31)
A_C = frozenset({frozenset({"A", "C"})})


def day(number: int) -> date:
    return FIRST + timedelta(number)


def shelf(*days: int, revisions: str = "") -> list[Stored]:
    held = revisions or " " * len(days)
    return [Stored(n, day(d), held[n].strip()) for n, d in enumerate(days)]


def stacks(*counts: int, days: int = 10, **more) -> list[Wanted]:
    return [Wanted(f"J{n}/1", f"J{n}", Room(c), days, **more) for n, c in enumerate(counts)]


def every_choice(units: list[Stored], wanted: list[Wanted]) -> Iterator[list[tuple[Stored, ...]]]:
    """Every way to fill none, some or all of the stacks."""
    if not wanted:
        yield []
        return
    stack, *others = wanted
    yield from ([(), *rest] for rest in every_choice(units, others))
    for some in combinations(units, stack.room.count):
        made = [unit.made for unit in some]
        pairs = {frozenset({a.revision, b.revision}) for a, b in combinations(some, 2)}
        if stack.room.takes(min(made), max(made), stack.days) and not pairs & stack.barred:
            left = [unit for unit in units if unit not in some]
            yield from ([some, *rest] for rest in every_choice(left, others))


def worth(choice: list[tuple[Stored, ...]]) -> tuple[int, int]:
    """Stacks that are whole, and days of age that leave the shelf."""
    taken = [unit for run in choice for unit in run]
    return sum(map(bool, choice)), sum((ON - unit.made).days for unit in taken)


def reached(units: list[Stored], wanted: list[Wanted], way: str) -> tuple[int, int]:
    """What the product chooses is worth; each unit is taken once and every run is one."""
    found = choose(units, wanted, way, ON)
    by_key = {unit.key: unit for unit in units}
    runs = [tuple(by_key[key] for key in run) for run in found.runs.values()]
    for stack in wanted:
        run = [by_key[key] for key in found.runs.get(stack.key, ())]
        made = [unit.made for unit in run]
        assert not run or len(run) == stack.room.count
        assert not run or stack.room.takes(min(made), max(made), stack.days)
    taken = [unit for run in runs for unit in run]
    assert len(set(taken)) == len(taken)
    assert found.proven
    whole, gone = worth(runs)
    assert found.age_left == sum((ON - unit.made).days for unit in units) - gone
    return whole, gone


@example([0, 5, 6, 7, 12], [2, 2], 5)
@given(
    st.lists(st.integers(0, 25), min_size=1, max_size=7),
    st.lists(st.integers(1, 3), min_size=1, max_size=3),
    st.integers(1, 12),
)
def test_neighbours_are_enough(days: list[int], counts: list[int], window: int) -> None:
    """No choice whatever makes more stacks whole, or lets less age stay."""
    units, wanted = shelf(*days), stacks(*counts, days=window)
    all_of_them = [worth(choice) for choice in every_choice(units, wanted)]

    assert max(all_of_them) == reached(units, wanted, MOST)
    assert max(all_of_them, key=lambda one: one[::-1]) == reached(units, wanted, OLDEST)


@given(st.lists(st.tuples(st.integers(0, 15), st.sampled_from("AC")), min_size=1, max_size=6))
def test_revisions_that_bar_each_other_are_never_in_one_stack(held) -> None:
    """As many whole stacks as any choice makes in which A and C are kept apart."""
    units = [Stored(n, day(d), revision) for n, (d, revision) in enumerate(held)]
    wanted = stacks(2, 2, barred=A_C)

    best = max(worth(choice) for choice in every_choice(units, wanted))
    assert best == reached(units, wanted, MOST)


def test_oldest_first_and_most_stacks_differ() -> None:
    """Five modules, stacks of five, two and two: one stack and an empty shelf, or two and one."""
    units, wanted = shelf(0, 1, 2, 3, 4), stacks(5, 2, 2)

    most, oldest = (choose(units, wanted, way, ON) for way in (MOST, OLDEST))

    assert oldest.runs == {"J0/1": (0, 1, 2, 3, 4)}
    assert most.runs == {"J1/1": (0, 1), "J2/1": (2, 3)}
    assert (oldest.age_left, oldest.oldest_left) == (0, None)
    assert (360, day(4)) == (most.age_left, most.oldest_left)


def test_all_stacks_of_a_job_keep_to_revisions_that_may_stand_together() -> None:
    """Two of A and two of C: one job of two stacks gets one whole, two jobs get both."""
    units = shelf(0, 0, 0, 0, revisions="AACC")
    apart = stacks(2, 2, barred=A_C)
    together = [Wanted(f"J1/{n}", "J1", Room(2), 10, A_C) for n in (1, 2)]

    assert len(choose(units, apart, MOST, ON).runs) == 2
    assert len(choose(units, together, MOST, ON).runs) == 1
    beside = [Wanted("J1/1", "J1", Room(2), 10, A_C, frozenset("C"))]
    assert choose(units, beside, MOST, ON).runs == {"J1/1": (2, 3)}


def test_where_time_runs_out_the_choice_still_keeps_every_rule(monkeypatch) -> None:
    """Five runs, six stacks of three jobs, A bars C: taken in turn, and said to be not proven."""
    monkeypatch.setattr(one_run, "SECONDS", 0.0)
    units = shelf(*(20 * (n // 4) + n % 4 for n in range(20)), revisions="AAAACCCC" * 2 + "AAAA")
    wanted = [Wanted(f"J{n // 2}/{n % 2}", f"J{n // 2}", Room(2), 10, A_C) for n in range(6)]
    wanted.append(Wanted("J9/1", "J9", Room(4), 10))
    found = [choose(units, wanted, way, ON) for way in (OLDEST, MOST)]

    for one in found:
        of_job = {key[:2]: "" for key in one.runs}
        for key, run in one.runs.items():
            of_job[key[:2]] += "".join(units[at].revision for at in run)
        taken = [at for run in one.runs.values() for at in run]
        assert all(len(set(revisions)) == 1 for revisions in of_job.values())
        assert len(set(taken)) == len(taken)
    assert [(len(one.runs), one.proven) for one in found] == [(7, False), (7, False)]


def test_the_older_claim_gets_the_older_run() -> None:
    """Of stacks that ask the same the first is served first, with what was made first."""
    units = shelf(0, 1, 60, 61)

    assert choose(units, stacks(2, 2), MOST, ON).runs == {"J0/1": (0, 1), "J1/1": (2, 3)}
    assert choose(units[:2], stacks(2, 2), MOST, ON).runs == {"J0/1": (0, 1)}


def test_of_a_stack_that_cannot_be_whole_as_much_as_goes_together() -> None:
    """Three neighbours of four; none at all from an empty shelf."""
    [four] = stacks(4)

    assert largest(shelf(0, 20, 21, 22, 50), four) == (1, 2, 3)
    assert largest([], four) == ()
    assert choose([], [four], OLDEST, ON).oldest_left is None
