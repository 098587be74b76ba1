"""Check a proof file of one serial, on any machine with Python 3.11, without the program.

    python3 check_proof.py FILE [--mark SIZE:ROOT]

A proof file holds what the firm's record says of one thing: each entry exactly as it was taken, and
the hashes that tie it to the record mark (a Merkle tree root, RFC 9162 section 2.1). The same mark
stands at the foot of each hand-over sheet. With --mark, copied from such a sheet, this shows also
that the record was only added to since that sheet was printed. Exit 0: all of it holds; 1: not.

It cannot show that a scan was true, that nothing was left out of the file, nor that the entries are
of the serial named at its top: what was scanned stands in each of them.
"""

import argparse
import hashlib
import json
import re
import sys
from pathlib import Path

HASH = re.compile(r"[0-9a-f]{64}")
SHAPE = {
    "v": 1,
    "serial": str,
    "item": str,
    "size": int,
    "root": HASH,
    "entries": [{"number": int, "line": str, "path": [HASH]}],
    "since": [{"size": int, "root": HASH, "path": [HASH]}],
}


class Broken(Exception):
    """The file does not hold; the sentence says where."""


def read(raw: bytes) -> dict:  # type: ignore[type-arg]
    """Return the body of a proof file. Raises Broken where it is not as it was written."""
    body, newline, rest = raw.partition(b"\n")
    if not newline or rest != hashlib.sha256(body).hexdigest().encode() + b"\n":
        raise Broken("the file was changed after it was written: its SHA-256 does not fit")
    try:
        proof = json.loads(body)
    except (ValueError, RecursionError):
        raise Broken("the first line is not JSON") from None
    if not isinstance(proof, dict) or not fits(proof, SHAPE):
        raise Broken("expected a proof file of version 1, with all its fields and no others")
    # A name twice in one object would show a reader another value than is checked here.
    if json.dumps(proof, separators=(",", ":"), sort_keys=True).encode() != body:
        raise Broken("the first line is not written as the program writes it")
    return proof


def fits(value: object, shape: object) -> bool:
    """Say whether a value of JSON has a shape: a kind, [a list of one shape] or {its fields}."""
    if isinstance(shape, dict):
        known = isinstance(value, dict) and value.keys() == shape.keys()
        return known and all(fits(value[name], one) for name, one in shape.items())  # type: ignore[index]
    if isinstance(shape, list):
        return isinstance(value, list) and all(fits(one, shape[0]) for one in value)
    if shape is HASH:
        return isinstance(value, str) and HASH.fullmatch(value) is not None
    if isinstance(shape, int):
        return type(value) is int and value == shape
    return type(value) is shape  # true is no number


def check(proof: dict, mark: str | None = None) -> None:  # type: ignore[type-arg]
    """Tie every entry of a proof to its root, and the root to a mark. Raises Broken."""
    size, root = proof["size"], bytes.fromhex(proof["root"])
    numbers = [entry["number"] for entry in proof["entries"]]
    if not numbers or numbers != sorted(set(numbers)):
        raise Broken("expected entries in the order of their numbers, each once")
    for entry in proof["entries"]:
        path = [bytes.fromhex(one) for one in entry["path"]]
        leaf = hashlib.sha256(b"\0" + entry["line"].encode()).digest()
        if included(leaf, entry["number"] - 1, size, path) != root:
            raise Broken(f"entry {entry['number']} does not lead to the root")
    for since in proof["since"]:
        path = [bytes.fromhex(one) for one in since["path"]]
        before = bytes.fromhex(since["root"])
        if not grown(since["size"], before, size, root, path):
            raise Broken(f"the record of {since['size']} entries was not only added to")
    if mark is not None:
        known = [f"{one['size']}:{one['root']}" for one in [proof, *proof["since"]]]
        if "".join(mark.split()).lower() not in known:
            told = ", ".join(one.split(":")[0] for one in known)
            raise Broken(f"this file does not lead to the mark given; it has those of {told}")


def included(leaf: bytes, index: int, size: int, path: list[bytes]) -> bytes | None:
    """Return the root that a leaf and its path lead to: RFC 9162 section 2.1.3.2."""
    if not 0 <= index < size:
        return None
    at, last, found = index, size - 1, leaf
    for step in path:
        if last == 0:
            return None
        if at & 1 or at == last:
            found = node(step, found)
            while not at & 1 and at:
                at, last = at >> 1, last >> 1
        else:
            found = node(found, step)
        at, last = at >> 1, last >> 1
    return found if last == 0 else None


def grown(before: int, old: bytes, size: int, root: bytes, path: list[bytes]) -> bool:
    """Say whether the first `before` entries of a record stand: RFC 9162 section 2.1.4.2."""
    if before == size:
        return not path and old == root
    if not 0 < before < size:
        return False
    if before & (before - 1) == 0:
        path = [old, *path]
    if not path:
        return False
    at, last = before - 1, size - 1
    while at & 1:
        at, last = at >> 1, last >> 1
    first = second = path[0]
    for step in path[1:]:
        if last == 0:
            return False
        if at & 1 or at == last:
            first, second = node(step, first), node(step, second)
            while not at & 1 and at:
                at, last = at >> 1, last >> 1
        else:
            second = node(second, step)
        at, last = at >> 1, last >> 1
    return first == old and second == root and last == 0


def node(left: bytes, right: bytes) -> bytes:
    """Return the hash of two subtrees."""
    return hashlib.sha256(b"\x01" + left + right).digest()


def told(proof: dict) -> list[str]:  # type: ignore[type-arg]
    """Return what the entries say, a line each."""
    lines = [f"{proof['item']}, serial {proof['serial']}"]
    for entry in proof["entries"]:
        said = json.loads(entry["line"])
        words = said.get("sentence") or f"{said['step']} {said.get('text', '')}"
        lines.append(f"{entry['number']:>8}  {said.get('at', ''):<25}  {words}".rstrip())
    return [*lines, f"record mark {proof['size']}: {proof['root']}"]


def main() -> int:
    """Check the file named on the command line."""
    parser = argparse.ArgumentParser(description="Check a proof file of one serial.")
    parser.add_argument("file", type=Path)
    parser.add_argument("--mark", help="SIZE:ROOT as printed on a hand-over sheet")
    options = parser.parse_args()
    try:
        proof = read(options.file.read_bytes())
        check(proof, options.mark)
        # Where a terminal lacks a letter the file holds all the same.
        sys.stdout.reconfigure(errors="backslashreplace")  # type: ignore[union-attr]
        print("\n".join(told(proof)))
    except Broken as broken:
        print(f"does not hold: {broken}", file=sys.stderr)
        return 1
    except (KeyError, TypeError, ValueError, AttributeError, OSError, RecursionError) as error:
        print(f"does not hold: expected a proof file, got {error!r}", file=sys.stderr)
        return 1
    print("holds: every entry is in the record that this mark stands for")
    return 0


if __name__ == "__main__":
    sys.exit(main())
