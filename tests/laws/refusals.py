"""Every refusal that a scan can meet, read from the code: followed from an act through all that its
functions name, in both houses."""

from __future__ import annotations

import ast
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import cache

from tests.tree import TOP

HOUSES = ("kitting", "inventory")
REFUSES = ("CannotMove", "stop")
WRITING = ("inventory.moving", "Writing")  # whose methods are called on `writes`


@dataclass(frozen=True, slots=True)
class Refusal:
    """One place in the code where a person is told no."""

    module: str  # kitting.gates
    function: str
    words: str  # {} for what varies; of words put together elsewhere their expression
    lead: bool  # whether a lead may let it through


@dataclass(frozen=True, slots=True)
class Module:
    """The functions of a module, of its classes too, and what its imports name."""

    functions: dict[str, ast.AST]
    names: dict[str, str]  # as it is called here -> kitting.gates or kitting.gates.needed


@cache
def module(name: str) -> Module | None:
    """Return a module of ours, None where there is none of this name."""
    path = TOP / f"{name.replace('.', '/')}.py"
    if name.partition(".")[0] not in HOUSES or not path.exists():
        return None
    tree = ast.parse(path.read_text(encoding="utf-8"))
    functions: dict[str, ast.AST] = {}
    for node in tree.body:
        inside = node.body if isinstance(node, ast.ClassDef) else [node]
        owner = f"{node.name}." if isinstance(node, ast.ClassDef) else ""
        functions |= {f"{owner}{f.name}": f for f in inside if isinstance(f, ast.FunctionDef)}
    names = {
        (one.asname or one.name): f"{node.module}.{one.name}"
        for node in ast.walk(tree)
        if isinstance(node, ast.ImportFrom)
        for one in node.names
    }
    return Module(functions, names)


def met_by(start: tuple[str, str]) -> set[Refusal]:
    """Return all that a function (of a module) may answer with. Raises KeyError for no function."""
    found: set[Refusal] = set()
    for name, function in reached(start):
        known = module(name)
        assert known is not None, name
        found |= set(_refusals(name, function, known.functions[function]))
    return found


@cache
def reached(start: tuple[str, str]) -> frozenset[tuple[str, str]]:
    """Return every function that one names, and those name, itself too."""
    todo, seen = [start], {start}
    while todo:
        name, function = todo.pop()
        known = module(name)
        assert known is not None, name
        new = {one for one in _named(name, known, known.functions[function]) if one not in seen}
        seen |= new
        todo += new
    return frozenset(seen)


def odd_of(starts: Iterable[tuple[str, str]]) -> set[str]:
    """Return the words of all that acts note as odd; {} for what varies."""
    found = set()
    for name, function in {one for start in starts for one in reached(start)}:
        known = module(name)
        assert known is not None, name
        for call in ast.walk(known.functions[function]):
            if isinstance(call, ast.Call) and getattr(call.func, "id", "") == "note_odd":
                found.add(_words(call.args[1]))
    return found


def _refusals(name: str, function: str, node: ast.AST) -> Iterator[Refusal]:
    for call in ast.walk(node):
        if not (isinstance(call, ast.Call) and isinstance(call.func, ast.Name) and call.args):
            continue
        said = call.func.id
        if said == "Verdict" and _words(call.args[0]) == "stopped":
            yield Refusal(name, function, _words(call.args[1]), lead=False)
        elif said in REFUSES and name != "kitting.leading":
            yield Refusal(name, function, _words(call.args[0]), lead=said == "stop")


def _words(said: ast.expr) -> str:
    if isinstance(said, ast.Constant):
        return str(said.value)
    if isinstance(said, ast.JoinedStr):
        return "".join(str(p.value) if isinstance(p, ast.Constant) else "{}" for p in said.values)
    if isinstance(said, ast.BoolOp):
        return f"what the code says of it, or: {_words(said.values[-1])}"
    return ast.unparse(said)


def _named(name: str, known: Module, node: ast.AST) -> Iterator[tuple[str, str]]:
    """Functions of ours that a function names: called, or handed on to be called."""
    for one in ast.walk(node):
        if isinstance(one, ast.Name) and one.id in known.functions:
            yield name, one.id
        elif isinstance(one, ast.Name) and one.id in known.names:
            where, _, function = known.names[one.id].rpartition(".")
            yield from _known(where, function)
        elif isinstance(one, ast.Attribute) and isinstance(one.value, ast.Name):
            where = known.names.get(one.value.id, "")
            if one.value.id in ("writes", "self"):
                yield from _known(WRITING[0], f"{WRITING[1]}.{one.attr}")
            else:
                yield from _known(where, one.attr)


def _known(where: str, function: str) -> Iterator[tuple[str, str]]:
    found = module(where)
    if found is not None and function in found.functions:
        yield where, function
