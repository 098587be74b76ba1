"""Every sentence that a technician's act may be answered with, read from the code: followed from
the act through all that its functions name (tests/laws/refusals.py), in both houses."""

from __future__ import annotations

import ast
import inspect
from collections.abc import Callable, Iterable, Iterator
from importlib import import_module
from itertools import count
from typing import Any

from inventory.intake import ACTS, Act
from inventory.models import Role
from tests.laws import refusals

# Which argument of a call is said to a person; of a text that is no code, with a big letter.
SAYS = {"Verdict": 1, "CannotMove": 0, "stop": 0, "note_odd": 1, "CodeError": 1, "PhotoRefused": 1}
STOPS = ("CannotMove", "stop")  # whose full stop is set where they are answered
FOUND = ("finding", "note_odd", "answer")  # whose second argument a problem's words are
JUDGED = ("_judge", "_again", "_refusal", "_decide", "_by_a_leaver")  # of the intake, for every act

READING = (("inventory.photos", "store"), ("inventory.photos", "read"))


def answers() -> Iterator[str]:
    """Each sentence, with X0, X1 ... where something varies."""
    acts = [act for act in ACTS.values() if Role.TECHNICIAN in act.roles]
    allows = {one for act in acts for one in _inside(act.allow)}
    for where, call, _ in _calls(acts, *READING):
        yield from _of_call(where, call)
    for where, name in allows | {("inventory.intake", "_refusal")}:
        for one in ast.walk(_function(where, name)):
            if isinstance(one, ast.Return) and one.value is not None:
                yield from filter(None, _texts(where, one.value))


def findings() -> Iterator[str]:
    """Each sentence of a problem, and of what answers one, with X0, X1 ... likewise; what the
    warehouse finds is read by a kit's crew too."""
    for where, call, function in _calls(ACTS.values()):
        if getattr(call.func, "id", getattr(call.func, "attr", "")) in FOUND:
            yield from (words for one in call.args[1:2] for words in _texts(where, one, function))


def _calls(
    acts: Iterable[Act], *besides: tuple[str, str]
) -> Iterator[tuple[str, ast.Call, ast.AST]]:
    """(module, call, function it stands in) of all that acts come to, and of the intake's own."""
    ours = [one for act in acts for one in (act.apply, act.undo, act.allow)]
    starts = {found for one in ours for found in _inside(one)}
    starts |= {("inventory.intake", name) for name in JUDGED} | {*besides}
    for where, name in {one for start in starts for one in refusals.reached(start)}:
        function = _function(where, name)
        for call in ast.walk(function):
            if isinstance(call, ast.Call):
                yield where, call, function


def _of_call(where: str, call: ast.Call) -> Iterator[str]:
    kind = getattr(call.func, "id", getattr(call.func, "attr", ""))
    said = [key.value for key in call.keywords if key.arg == "question"]
    if kind in SAYS:
        said += call.args[SAYS[kind] :][:1]
    for words in (words for one in said for words in _texts(where, one) if words):
        if kind == "CodeError":
            yield f"{words[:1].upper()}{words[1:]}."
        else:
            yield f"{words.rstrip('.')}." if kind in (*STOPS, "Thing") else words


def _texts(where: str, said: ast.expr, function: ast.AST | None = None) -> Iterator[str]:
    """What an expression may say: a text, one with slots, one of several, a name of a text.

    function: where it stands, for names that are given a text there.
    """
    if isinstance(said, ast.BoolOp | ast.IfExp):
        either = said.values if isinstance(said, ast.BoolOp) else [said.body, said.orelse]
        yield from (words for one in either for words in _texts(where, one, function))
    elif isinstance(said, ast.Name) and (given := _given(said.id, function)):
        yield from (words for one in given for words in _texts(where, one))
    elif isinstance(said, ast.JoinedStr):
        slots = count()
        yield "".join(
            str(part.value) if isinstance(part, ast.Constant) else f"X{next(slots)}"
            for part in said.values
        )
    elif isinstance(said, ast.Subscript):
        yield from _texts(where, said.value, function)
    elif isinstance(said, ast.Constant | ast.Name | ast.Attribute):
        known = said.value if isinstance(said, ast.Constant) else _named(where, said)
        yield from [known] if isinstance(known, str) else ()
        yield from known.values() if isinstance(known, dict) else ()


def _given(name: str, function: ast.AST | None) -> list[ast.expr]:
    """What a function gives a name of its own."""
    return [
        one.value
        for one in (ast.walk(function) if function is not None else ())
        if isinstance(one, ast.Assign) and name in map(ast.unparse, one.targets)
    ]


def _named(where: str, name: ast.Name | ast.Attribute) -> object:
    """What a name of a module stands for, None for what is only known as it runs."""
    found: Any = import_module(where)
    for part in ast.unparse(name).split("."):
        found = getattr(found, part, None)
    return found


def _inside(function: Callable[..., Any]) -> Iterator[tuple[str, str]]:
    """The functions of ours that a function is made of, decorators opened: (module, name)."""
    known = refusals.module(function.__module__)
    name = function.__qualname__.partition(".<locals>")[0]
    if known is not None and name in known.functions:
        yield function.__module__, name
    for cell in getattr(function, "__closure__", None) or ():
        if inspect.isfunction(cell.cell_contents):
            yield from _inside(cell.cell_contents)


def _function(where: str, name: str) -> ast.AST:
    known = refusals.module(where)
    assert known is not None, where
    return known.functions[name]
