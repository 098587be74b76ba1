"""Statements built once: what they write and read is what Django itself would."""

from collections.abc import Callable
from contextlib import AbstractContextManager
from datetime import date
from typing import Any

import pytest
from django.db import IntegrityError, connection, transaction
from django.db.models import Model
from django.db.transaction import TransactionManagementError
from django.test.utils import CaptureQueriesContext

from inventory.ledger.ids import uuid7
from inventory.models import Device, Item, Lot, Place, RecordMark, Unit
from inventory.rows import Among, Question, Slot, add, change, found
from tests.firm import Firm

Asserting = Callable[[int], AbstractContextManager[Any]]


def columns(row: Model) -> dict[str, Any]:
    return {f.attname: getattr(row, f.attname) for f in row._meta.concrete_fields}


@pytest.mark.parametrize("kind", ["unit", "lot", "mark", "device"])
def test_a_row_is_stored_as_django_stores_it(shop: Firm, kind: str) -> None:
    """Ids, dates, JSON, times set on entry and values not given come back as they went in."""
    lot = Lot.objects.create(item=shop.bracket, number="L1", key="L1")
    rows: dict[str, Model] = {
        "unit": Unit(item=shop.module, lot=lot, serial="a 1", serial_key="A1", place=None),
        "lot": Lot(uid=uuid7(), item=shop.bracket, key="B2", expires_on=date(2027, 2, 28)),
        "mark": RecordMark(size=7, root="ab" * 32, peaks=["cd" * 32, "ef" * 32]),
        "device": Device(person=shop.wanda.person, label="O'Brien %s"),
    }
    given = {name: value for name, value in columns(rows[kind]).items() if value is not None}
    row = add(rows[kind])
    stored = type(row)._default_manager.get(pk=row.pk)

    assert columns(row) == columns(stored)
    assert {name: getattr(stored, name) for name in given} == given
    assert (row._state.adding, row._state.db) == (False, stored._state.db)


def test_a_broken_law_is_the_same_fault(shop: Firm) -> None:
    """A second lot of one number is refused as the queryset's would be."""
    add(Lot(item=shop.bracket, number="L1", key="L1"))
    with pytest.raises(IntegrityError), transaction.atomic():
        add(Lot(item=shop.bracket, number="L1", key="L1"))

    assert Lot.objects.filter(key="L1").count() == 1


def test_a_question_brings_what_the_row_points_to(
    shop: Firm, django_assert_num_queries: Asserting
) -> None:
    """One statement gives the unit, its item and five levels of place; an absent one is None."""
    lot = Lot.objects.create(item=shop.module, number="", key="Q")
    here = Unit.objects.create(
        item=shop.module, lot=lot, serial="Q1", serial_key="Q1", place=shop.bins[0]
    )
    nowhere = Unit.objects.create(item=shop.module, lot=lot, serial="Q2", serial_key="Q2")
    built: list[int] = []

    def build() -> Any:
        built.append(1)
        whole = Unit.objects.select_related("item", "lot", "place__parent__parent")
        return whole.filter(item__code=Slot(Item, "code"), serial_key=Slot(Unit, "serial_key"))

    question = Question(build)
    question.one(code="none", serial_key="none")
    with django_assert_num_queries(2):
        first = question.one(code=shop.module.code, serial_key="Q1")
        second = question.one(code=shop.module.code, serial_key="Q2")
        assert first is not None
        assert second is not None
        assert (first.item, first.lot, first.place) == (shop.module, lot, shop.bins[0])
        assert first.place is not None
        assert first.place.parent == shop.bins[0].parent
        assert second.place is None

    assert [columns(first), columns(second)] == [columns(here), columns(nowhere)]
    assert (first._state.adding, first._state.db) == (here._state.adding, here._state.db)
    assert len(built) == 1


def test_many_values_are_one_parameter(shop: Firm) -> None:
    """Thousands of numbers and texts, marks and letters of any kind; none of them: no rows."""
    keys = [f"'%s\\{{\"{n}" for n in range(40_000)]
    lots = [add(Lot(item=shop.bracket, number=key, key=key)) for key in (keys[0], keys[-1], "ß")]
    question = Question(
        lambda: (
            Lot.objects.filter(key__in=Among(Lot, "key"), item__in=Among(Lot, "item"))
            .order_by("pk")
            .values_list("number", "item__code", "expires_on", "uid")
        )
    )
    items = {shop.bracket.pk, shop.module.pk}

    assert [tuple(row) for row in question.tuples(key=[*keys, "ß"], item=items)] == [
        (lot.number, "BRA", None, lot.uid) for lot in lots
    ]
    assert question.tuples(key=keys, item=[shop.module.pk]) == []
    assert question.tuples(key=[], item=items) == []


def test_many_answers_come_by_one_statement(
    shop: Firm, django_assert_num_queries: Asserting
) -> None:
    """Each as if asked alone, more than one statement holds, none of no question."""
    for number in range(3):
        add(Lot(item=shop.bracket, number=f"%{number}", key=f"%{number}"))
    whole = Question(lambda: Lot.objects.select_related("item").filter(key=Slot(Lot, "key")))
    numbers = Question(
        lambda: Lot.objects.filter(key=Slot(Lot, "key")).values_list("number", "uid")
    )
    many = [{"key": f"%{number}"} for number in (2, 0, 7, 2)]

    with django_assert_num_queries(2):
        found, told = whole.ask_each(many), numbers.tuples_each(many)
    assert [[columns(lot) for lot in lots] for lots in found] == [
        [columns(lot) for lot in whole.ask(**values)] for values in many
    ]
    assert [[tuple(row) for row in rows] for rows in told] == [
        [tuple(row) for row in numbers.tuples(**values)] for values in many
    ]
    assert found[0][0].item == shop.bracket
    assert [len(lots) for lots in whole.ask_each(many * 30)] == [1, 1, 0, 1] * 30
    assert whole.ask_each([]) == []


def test_a_change_counts_the_rows_it_met(shop: Firm) -> None:
    """The compare of a compare-and-set rests on this number."""
    statement = "UPDATE inventory_place SET name = %s WHERE code = %s"

    assert change(statement, ["New name", shop.bins[0].code]) == 1
    assert change(statement, ["New name", "no such code"]) == 0
    assert found("SELECT name FROM inventory_place WHERE code = %s", [shop.bins[0].code]) == [
        ("New name",)
    ]
    assert Place.objects.get(pk=shop.bins[0].pk).name == "New name"


def test_who_listens_hears_every_statement_and_a_broken_transaction_stays_broken(
    shop: Firm,
) -> None:
    """The way round Django's cursor is taken only where nobody would miss it."""
    heard: list[str] = []

    def listen(execute: Callable[..., Any], sql: str, *rest: Any) -> Any:
        heard.append(sql)
        return execute(sql, *rest)

    statement = "SELECT code LIKE 'BIN%%' FROM inventory_place WHERE id = %s"
    silent = found(statement, [shop.bins[0].pk])
    with connection.execute_wrapper(listen), CaptureQueriesContext(connection) as asked:
        assert found(statement, [shop.bins[0].pk]) == silent
    assert bool(silent[0][0])
    assert (heard, len(asked)) == ([statement], 1)

    with transaction.atomic():
        with pytest.raises(IntegrityError), transaction.atomic(savepoint=False):
            found("INSERT INTO inventory_place (id) VALUES (%s) RETURNING id", [1])
        with pytest.raises(TransactionManagementError):
            found(statement, [1])
        transaction.set_rollback(True)
