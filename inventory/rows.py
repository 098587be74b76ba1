"""Statements that are built once: rows written, questions asked, on the way of every scan.

Django builds the statement of a queryset anew for each use, which takes several times as long as
the database takes to carry it out. Here it is built at the first use and kept, one for each kind
of database. For the few statements of every scan; anywhere else a plain queryset reads better.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Any, Generic, TypeVar, cast

from django.db import DEFAULT_DB_ALIAS, connections
from django.db.backends.base.base import BaseDatabaseWrapper
from django.db.backends.sqlite3.base import FORMAT_QMARK_REGEX
from django.db.models import Expression, Field, ForeignKey, Model, QuerySet
from django.db.models.base import ModelState
from django.db.models.sql.compiler import SQLCompiler

M = TypeVar("M", bound=Model)
Stored = tuple["Field[Any, Any]", frozenset[type]]  # types: those stored as they are
AT_ONCE = 40  # questions in one statement: SQLite joins some hundred at most
_INSERTS: dict[tuple[type[Model], str], tuple[str, list[Stored]]] = {}
_PLAIN = {"CharField": str, "TextField": str, "BooleanField": bool, "BigAutoField": int} | {
    f"{size}IntegerField": int for size in ("", "Big", "Positive", "PositiveBig", "PositiveSmall")
}


def add(row: M) -> M:
    """Insert a new row and give it its id: what `objects.create` does, without signals."""
    connection = connections[DEFAULT_DB_ALIAS]
    statement, fields = _kept_insert(type(row), connection)
    values = _values(row, fields, connection)
    ((row.pk,),), _ = _carried_out(connection, statement, values)
    row._state.adding, row._state.db = False, connection.alias
    return row


def add_many(rows: Sequence[M]) -> None:
    """Insert new rows of one kind and give them their ids: `bulk_create`, four times as fast."""
    if not rows:
        return
    connection = connections[DEFAULT_DB_ALIAS]
    model = type(rows[0])
    _, fields = _kept_insert(model, connection)
    values = [tuple(_values(row, fields, connection)) for row in rows]
    ids = add_all(model, [str(field.column) for field, _ in fields], values)
    for row, pk in zip(rows, ids, strict=True):
        row.pk, row._state.adding, row._state.db = pk, False, connection.alias


def _values(row: Model, fields: Sequence[Stored], connection: BaseDatabaseWrapper) -> list[Any]:
    given = row.__dict__
    return [
        given[field.attname]
        if type(given.get(field.attname, field)) in plain
        else field.get_db_prep_save(field.pre_save(row, True), connection)
        for field, plain in fields
    ]


def add_all(
    model: type[Model], columns: Sequence[str], rows: Sequence[tuple[Any, ...]]
) -> list[int]:
    """Insert rows, many in one statement, and return their ids in their order.

    A row: the values of these columns as the database has them.
    """
    connection = connections[DEFAULT_DB_ALIAS]
    names = ", ".join(map(connection.ops.quote_name, columns))
    into = f"INSERT INTO {connection.ops.quote_name(model._meta.db_table)} ({names})"
    found = list[int]()
    for statement, values in _at_once(model, columns, rows, connection):
        ids, _ = _carried_out(connection, f"{into} {statement} RETURNING id", values)
        found += [pk for (pk,) in ids]
    return found


def _at_once(
    model: type[Model],
    columns: Sequence[str],
    rows: Sequence[tuple[Any, ...]],
    connection: BaseDatabaseWrapper,
) -> Iterator[tuple[str, list[Any]]]:
    """Give statements and their values; where there are arrays, one for each column."""
    most = connection.features.max_query_params
    if most is None:
        fields = {str(f.column): f for f in model._meta.concrete_fields}
        types = [f"%s::{fields[name].db_type(connection)}[]" for name in columns]
        arrays = [list(values) for values in zip(*rows, strict=True)]
        if arrays:
            yield f"SELECT * FROM unnest({', '.join(types)})", arrays
        return
    room = f"({', '.join(['%s'] * len(columns))})"
    size = most // len(columns)
    for start in range(0, len(rows), size):
        some = rows[start : start + size]
        yield f"VALUES {', '.join([room] * len(some))}", [v for row in some for v in row]


def change(statement: str, values: Sequence[Any]) -> int:
    """Carry out an UPDATE or DELETE and return how many rows it met."""
    return _carried_out(connections[DEFAULT_DB_ALIAS], statement, values)[1]


def found(statement: str, values: Sequence[Any] | dict[str, Any]) -> list[tuple[Any, ...]]:
    """Carry out a SELECT written by hand and return its rows."""
    return _carried_out(connections[DEFAULT_DB_ALIAS], statement, values)[0]


def _carried_out(
    connection: BaseDatabaseWrapper, statement: str, values: Sequence[Any] | dict[str, Any]
) -> tuple[list[tuple[Any, ...]], int]:
    """Carry out a statement; return its rows and how many it met.

    On SQLite without Django's cursor, which rewrites a statement at each use, unless there is
    none yet, somebody listens, or the transaction is broken: then Django says what is to be said.
    """
    if (
        connection.vendor != "sqlite"
        or connection.connection is None
        or connection.execute_wrappers
        or connection.queries_logged
        or connection.needs_rollback
        or isinstance(values, dict)
    ):
        with connection.cursor() as cursor:
            cursor.execute(statement, values)
            return cursor.fetchall() if cursor.description else [], cursor.rowcount
    with connection.wrap_database_errors:
        done = connection.connection.execute(_with_marks(statement), values)
        return done.fetchall(), done.rowcount


@lru_cache(maxsize=500)
def _with_marks(statement: str) -> str:
    """Return a statement of Django's as SQLite takes it."""
    return FORMAT_QMARK_REGEX.sub("?", statement).replace("%%", "%")


class Slot(Expression):
    """Where a value goes in a kept question; it is stored as this field of the model is."""

    def __init__(self, model: type[Model], field: str, name: str = "") -> None:
        super().__init__()
        self.of = cast("Field[Any, Any]", model._meta.get_field(field))
        self.name = name or field

    def as_sql(self, compiler: SQLCompiler, connection: Any) -> tuple[str, Any]:
        """Leave room for the value."""
        return "%s", [self]

    def stored(self, value: Any, connection: BaseDatabaseWrapper) -> Any:
        """Return a value as the database is given it."""
        return self.of.get_db_prep_value(value, connection)


class Among(Slot):
    """Where the values of an `in` go, however many: all of them in one parameter."""

    def as_sql(self, compiler: SQLCompiler, connection: Any) -> tuple[str, Any]:
        """Leave room for a list as JSON."""
        return "(SELECT value FROM json_each(%s))", [self]

    def as_postgresql(self, compiler: SQLCompiler, connection: Any) -> tuple[str, Any]:
        """Leave room for an array."""
        return f"(SELECT unnest(%s::{self.of.rel_db_type(connection)}[]))", [self]

    def stored(self, value: Iterable[Any], connection: BaseDatabaseWrapper) -> Any:
        """Return numbers or texts as the database is given them."""
        return list(value) if connection.vendor == "postgresql" else json.dumps(list(value))


@dataclass(frozen=True, slots=True)
class _Part:
    """The columns of a statement that make one object, and those of the objects it points to."""

    model: type[Model]
    names: list[str]  # attributes of the model
    columns: slice
    key: int  # column of the primary key
    point: Callable[[Model, Model | None], None] | None  # let the owner point to it
    parts: list[_Part]

    def made(self, row: Sequence[Any], alias: str) -> Model | None:
        """Return the object, None where an outer join met nothing."""
        if row[self.key] is None:
            return None
        # What `from_db` does, without setting each field through its descriptor.
        made = self.model.__new__(self.model)
        made.__dict__.update(zip(self.names, row[self.columns], strict=True))
        made._state = ModelState()
        made._state.adding, made._state.db = False, alias
        for part in self.parts:
            assert part.point is not None
            part.point(made, part.made(row, alias))
        return made


@dataclass(frozen=True, slots=True)
class _Kept:
    """A question as one kind of database is asked it."""

    statement: str
    values: Sequence[Any]  # slots among them
    converters: list[tuple[int, list[Callable[..., Any]], Any]]
    whole: _Part | None  # None of a `values_list`
    beside: list[tuple[str, int]]  # annotations and their columns


class Question(Generic[M]):
    """A queryset with slots, built once; `ask` fills them and returns the rows as a list.

    build: makes the queryset; `select_related` and annotations count, prefetching does not.
    The values of an `in` are `Among`, not a slot. Of a `values_list`, `tuples` gives the rows.
    """

    def __init__(self, build: Callable[[], QuerySet[M, Any]]) -> None:
        self._build = build
        self._kept: dict[str, _Kept] = {}

    def ask(self, **values: Any) -> list[M]:
        """Return the rows for these values, one for each slot's name."""
        connection = connections[DEFAULT_DB_ALIAS]
        kept, rows = self._asked(connection, values)
        return [cast("M", _made(kept, row, connection)) for row in rows]

    def tuples(self, **values: Any) -> list[Sequence[Any]]:
        """Return the rows of a `values_list` for these values."""
        connection = connections[DEFAULT_DB_ALIAS]
        kept, rows = self._asked(connection, values)
        return [_converted(kept, row, connection) for row in rows]

    def ask_each(self, many: Sequence[dict[str, Any]]) -> list[list[M]]:
        """Return what `ask` returns for each of these values, by one statement."""
        connection = connections[DEFAULT_DB_ALIAS]
        kept, found = self._asked_each(connection, many)
        return [[cast("M", _made(kept, row, connection)) for row in rows] for rows in found]

    def tuples_each(self, many: Sequence[dict[str, Any]]) -> list[list[Sequence[Any]]]:
        """Return what `tuples` returns for each of these values, by one statement."""
        connection = connections[DEFAULT_DB_ALIAS]
        kept, found = self._asked_each(connection, many)
        return [[_converted(kept, row, connection) for row in rows] for rows in found]

    def one(self, **values: Any) -> M | None:
        """Return the first row, None if there is none."""
        return next(iter(self.ask(**values)), None)

    def _asked(
        self, connection: BaseDatabaseWrapper, values: dict[str, Any]
    ) -> tuple[_Kept, list[tuple[Any, ...]]]:
        kept = self._kept.get(connection.vendor) or self._keep(connection)
        return kept, _carried_out(connection, kept.statement, _filled(kept, values, connection))[0]

    def _asked_each(
        self, connection: BaseDatabaseWrapper, many: Sequence[dict[str, Any]]
    ) -> tuple[_Kept, list[list[Sequence[Any]]]]:
        kept = self._kept.get(connection.vendor) or self._keep(connection)
        found: list[list[Sequence[Any]]] = [[] for _ in many]
        for start in range(0, len(many), AT_ONCE):
            some = many[start : start + AT_ONCE]
            turns = range(start, start + len(some))
            parts = [f"SELECT {turn}, asked.* FROM ({kept.statement}) asked" for turn in turns]
            filled = [value for values in some for value in _filled(kept, values, connection)]
            for turn, *row in _carried_out(connection, " UNION ALL ".join(parts), filled)[0]:
                found[turn].append(row)
        return kept, found

    def _keep(self, connection: BaseDatabaseWrapper) -> _Kept:
        query = self._build().query
        compiler = query.get_compiler(connection.alias)
        statement, values = compiler.as_sql()
        columns = [column for column, _, _ in compiler.select]
        found = compiler.get_converters(columns).items()
        converters = [(index, list(how), column) for index, (how, column) in found]
        whole = _part(compiler.klass_info, columns) if query.default_cols else None
        beside = list((compiler.annotation_col_map or {}).items())
        kept = _Kept(statement, values, converters, whole, beside)
        self._kept[connection.vendor] = kept
        return kept


def _filled(kept: _Kept, values: dict[str, Any], connection: BaseDatabaseWrapper) -> list[Any]:
    """The values of a kept statement, those of its slots among them."""
    return [s.stored(values[s.name], connection) if isinstance(s, Slot) else s for s in kept.values]


def _made(kept: _Kept, row: Sequence[Any], connection: BaseDatabaseWrapper) -> Model | None:
    """Return the object of a row as it came."""
    assert kept.whole is not None, "rows of a values_list are no objects"
    row = _converted(kept, row, connection)
    made = kept.whole.made(row, connection.alias)
    for name, index in kept.beside:
        setattr(made, name, row[index])
    return made


def _converted(kept: _Kept, row: Sequence[Any], connection: BaseDatabaseWrapper) -> Sequence[Any]:
    if not kept.converters:
        return row
    row = list(row)
    for index, converters, column in kept.converters:
        for converter in converters:
            row[index] = converter(row[index], column, connection)
    return row


def _part(info: dict[str, Any], columns: list[Any]) -> _Part:
    """Return what Django's compiler says about the columns of one model."""
    where: list[int] = info["select_fields"]
    names = [columns[index].target.attname for index in where]
    assert where == list(range(where[0], where[-1] + 1)), "the columns of a model stand together"
    return _Part(
        info["model"],
        names,
        slice(where[0], where[-1] + 1),
        where[names.index(info["model"]._meta.pk.attname)],
        info.get("local_setter"),
        [_part(related, columns) for related in info.get("related_klass_infos", ())],
    )


def _kept_insert(model: type[Model], connection: BaseDatabaseWrapper) -> tuple[str, list[Stored]]:
    kept = _INSERTS.get((model, connection.vendor))
    if kept is None:
        kept = _INSERTS[model, connection.vendor] = _insert(model, connection)
    return kept


def _insert(model: type[Model], connection: BaseDatabaseWrapper) -> tuple[str, list[Stored]]:
    def quoted(field: Field[Any, Any]) -> str:
        return connection.ops.quote_name(str(field.column))

    key, *fields = sorted(model._meta.concrete_fields, key=lambda field: not field.primary_key)
    table, columns = connection.ops.quote_name(model._meta.db_table), map(quoted, fields)
    room = ", ".join(["%s"] * len(fields))
    into = f"INSERT INTO {table} ({', '.join(columns)}) VALUES ({room})"
    return f"{into} RETURNING {quoted(key)}", [(field, _plain(field)) for field in fields]


def _plain(field: Field[Any, Any]) -> frozenset[type]:
    target = field.target_field if isinstance(field, ForeignKey) else field
    plain = _PLAIN.get(target.get_internal_type())
    return frozenset({plain, type(None)}) if plain else frozenset()
