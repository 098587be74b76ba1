"""The laws of the ledger, tried on the intake and its tables; the model says what must come out."""

import pytest
from django.db import transaction
from hypothesis import HealthCheck, settings
from hypothesis.stateful import run_state_machine_as_test

from inventory import audit, digest
from inventory.models import Device, DeviceGap, Event, Holding, Unit
from tests import firm
from tests.counts import counts
from tests.laws.model import Model
from tests.laws.scanning import DEVICES, Holdings, Scanning


class InTables:
    """The real intake; every verdict and every table must be the model's."""

    def __init__(self) -> None:
        self.model = Model()
        self.wanda = firm.build().wanda
        for uid in DEVICES:
            Device.objects.create(uid=uid, person=self.wanda.person)

    def take(self, raw: str) -> tuple[str, bool]:
        result = self.wanda.send(raw)[0]
        expected = self.model.take(raw)
        assert (result.verdict, result.duplicate) == expected, result.sentence
        return expected

    def holdings(self) -> Holdings:
        rows = Holding.objects.exclude(quantity=0).values_list(
            "place__code", "lot__item__code", "quantity"
        )
        found = {(place, item): quantity for place, item, quantity in rows}
        assert found == self.model.book.stock()
        return found

    def units(self) -> dict[str, str]:
        rows = Unit.objects.exclude(place=None).values_list("serial_key", "place__code")
        assert dict(rows) == self.model.book.units
        return self.model.book.units

    def gaps(self, device: str) -> list[tuple[int, int]]:
        rows = DeviceGap.objects.filter(device__uid=device).order_by("first")
        return list(rows.values_list("first", "last"))


class OrmScanning(Scanning):
    """Each example in a transaction of its own that is taken back at its end."""

    def __init__(self) -> None:
        super().__init__()
        self.atomic = transaction.atomic()
        self.atomic.__enter__()
        self.ledger = InTables()

    def teardown(self) -> None:
        try:
            assert [f for f in audit.run() if f.problems] == []
            state = digest.digest()
            audit.rebuild()
            assert digest.digest() == state
        finally:
            transaction.set_rollback(True)
            self.atomic.__exit__(None, None, None)


@pytest.mark.django_db
def test_the_laws_hold_in_the_tables() -> None:
    """I1 to I5, I7 to I9, I12 and I19 hold, the intake decides what the model decides."""
    run_state_machine_as_test(
        OrmScanning,
        settings=settings(
            max_examples=counts(15, 50),
            stateful_step_count=20,
            suppress_health_check=list(HealthCheck),
        ),
    )

    assert Event.objects.count() == 0
