"""The laws of the ledger, tried on the ledger in memory."""

from hypothesis import settings
from hypothesis.stateful import run_state_machine_as_test

from tests.counts import counts
from tests.laws.model import Model
from tests.laws.scanning import Holdings, Scanning


class InMemory:
    """The model as the machine wants it."""

    def __init__(self) -> None:
        self.model = Model()
        self.take, self.gaps = self.model.take, self.model.gaps

    def holdings(self) -> Holdings:
        return self.model.book.stock()

    def units(self) -> dict[str, str]:
        return self.model.book.units


class PureScanning(Scanning):
    def __init__(self) -> None:
        super().__init__()
        self.ledger = InMemory()


def test_the_laws_hold_in_memory() -> None:
    """I1 to I4, I7 to I9 and I12 hold after every step of every run."""
    run_state_machine_as_test(
        PureScanning,
        settings=settings(max_examples=counts(60, 200), stateful_step_count=30),
    )
