"""A proof of one serial: RFC 9162 sections 2.1.3 and 2.1.4, against pymerkle, not by us.

The checking script is taken out of the tree and run by itself, as a third party would.
"""

import hashlib
import importlib.util
import json
import random
import shutil
import subprocess
import sys
from pathlib import Path

import pytest
from pymerkle import InmemoryTree
from pymerkle import verify_consistency as pymerkle_consistency
from pymerkle import verify_inclusion as pymerkle_inclusion

from inventory import proving
from inventory.ledger import check_proof, tree
from inventory.ledger.inclusion import consistency, hashes, inclusion
from inventory.models import Event, Hold, Outcome, RecordMark
from inventory.proving import NoProof, proof_of
from tests import firm
from tests.counts import counts
from tests.kitting import yard as yards

SCRIPT = Path(check_proof.__file__)


def library(entries):
    """The same entries in the other library."""
    other = InmemoryTree(algorithm="sha256")
    for entry in entries:
        other.append_entry(entry)
    return other


def test_paths_are_the_library_s():
    """Each entry of each size up to 40, and each older size of it; a wrong root is refused."""
    for size in range(1, counts(20, 40)):
        entries = [b"%d" % number for number in range(size)]
        other = library(entries)
        root = other.get_root(size)
        for index, entry in enumerate(entries):
            ranges = inclusion(index, size)
            found = hashes(entries, ranges)
            path = [found[one] for one in ranges]
            told = other.prove_inclusion(index + 1, size).serialize()["path"][1:]
            assert told == [one.hex() for one in path]
            assert root == check_proof.included(tree.leaf(entry), index, size, path)
            assert root != check_proof.included(tree.leaf(b"x"), index, size, path)
        for before in range(1, size + 1):
            ranges = consistency(before, size)
            found = hashes(entries, ranges)
            path = [found[one] for one in ranges]
            old = other.get_root(before)
            assert check_proof.grown(before, old, size, root, path)
            assert not check_proof.grown(before, tree.leaf(b"x"), size, root, path)
            assert not check_proof.grown(before, old, size, tree.leaf(b"x"), path)


@pytest.fixture
def proof(db, tmp_path):
    """The file of a module that came in, was put away and set aside, with the mark before that."""
    shop = firm.build()
    wanda = shop.wanda
    for serial in ("A1", "A2"):
        wanda.scan("receive", firm.element_string(serial), target="DOCK")
        wanda.scan("put", serial, target=shop.bins[0].code)
    since = RecordMark.objects.order_by("-size").first()
    wanda.scan("set_aside", "A1", reason="dropped")
    path = tmp_path / "A1.proof"
    path.write_bytes(proof_of("A1", [since.size]))
    return path, f"{since.size}:{since.root}"


def run(path, *more):
    """The script by itself, from a folder that holds nothing else of ours."""
    alone = path.parent / "elsewhere" / "check_proof.py"
    alone.parent.mkdir(exist_ok=True)
    shutil.copy(SCRIPT, alone)
    command = [sys.executable, "-I", str(alone), str(path), *more]
    return subprocess.run(command, capture_output=True, text=True, check=False)


def test_a_true_file_holds_and_leads_to_the_printed_mark(proof):
    """What it says is what the ledger has; the library agrees on every path."""
    path, mark = proof
    found = run(path, "--mark", mark.replace(":", ": "))
    assert (found.returncode, found.stderr) == (0, "")
    assert "A1 is set aside: dropped." in found.stdout
    body = json.loads(path.read_bytes().splitlines()[0])
    lines = dict([*Event.objects.values_list("number", "line")])
    lines |= dict(Outcome.objects.values_list("number", "line"))
    other = library([lines[number].encode() for number in sorted(lines)])
    assert other.get_root(body["size"]).hex() == body["root"]
    mine = [number for number, line in lines.items() if '"A2"' not in line and "21A2" not in line]
    events = {
        str(uid) for uid in Event.objects.filter(number__in=mine).values_list("uid", flat=True)
    }
    assert {number for number in mine if any(uid in lines[number] for uid in events)} == {
        entry["number"] for entry in body["entries"]
    }
    for entry in body["entries"]:
        assert lines[entry["number"]] == entry["line"]
        one = other.prove_inclusion(entry["number"], body["size"])
        pymerkle_inclusion(tree.leaf(entry["line"].encode()), bytes.fromhex(body["root"]), one)
        assert one.serialize()["path"][1:] == entry["path"]
    (since,) = body["since"]
    state = bytes.fromhex(since["root"]), bytes.fromhex(body["root"])
    pymerkle_consistency(*state, other.prove_consistency(since["size"], body["size"]))


def test_every_changed_byte_is_told(proof, monkeypatch, capsys):
    """All bytes of one file, one at a time; and the script itself says so by its exit."""
    path, _ = proof
    spec = importlib.util.spec_from_file_location("alone", SCRIPT)
    alone = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(alone)
    true, dice = path.read_bytes(), random.Random(1)
    monkeypatch.setattr(sys, "argv", ["check_proof.py", str(path)])
    assert alone.main() == 0
    for place in range(len(true)):
        for _ in range(counts(1, 5)):
            wrong = bytearray(true)
            wrong[place] ^= dice.randrange(1, 256)
            path.write_bytes(wrong)
            assert alone.main() == 1, place
    capsys.readouterr()
    path.write_bytes(true[:-1])
    assert run(path).returncode == 1
    path.write_bytes(true)
    assert run(path).returncode == 0
    assert run(path.parent / "none").returncode == 1


def test_a_forger_who_mends_the_sum_is_told_by_the_tree(proof):
    """Another sentence, an entry left out of its place, another root, a mark that is not ours."""
    path, mark = proof
    true = json.loads(path.read_bytes().splitlines()[0])

    def forged(change, *more):
        body = json.loads(json.dumps(true))
        change(body)
        line = json.dumps(body, separators=(",", ":"), sort_keys=True).encode()
        path.write_bytes(line + b"\n" + hashlib.sha256(line).hexdigest().encode() + b"\n")
        return run(path, *more)

    def say(body):
        last = body["entries"][-1]
        last["line"] = last["line"].replace("dropped", "checked")

    def move(body):
        body["entries"][0]["number"] += 1

    def rewrite(body):
        body["root"] = "0" * 64

    def older(body):
        body["since"][0]["root"] = "0" * 64

    for change in (say, move, rewrite, older):
        found = forged(change)
        assert found.returncode == 1
        assert "does not hold" in found.stderr
    assert forged(lambda body: None, "--mark", mark).returncode == 0
    assert forged(lambda body: None, "--mark", f"{true['size']}:{'0' * 64}").returncode == 1


def test_what_was_told_by_its_box_is_in_the_file(db):
    """Damage reported by the label of the box: the unit itself was not scanned."""
    yard = yards.build()
    kit = yard.kit()
    yard.box("M1")
    yard.wanda.scan("set_aside", "M1", reason="dropped")
    yard.mona.scan("release", "M1")
    hit = yard.wanda.scan("damaged", "BOX-M1", reason="dented", photo="0" * 64, **yards.about(kit))
    assert Hold.objects.filter(unit__serial="M1", event__uid=hit.id).exists(), hit
    body = json.loads(proof_of("M1").splitlines()[0])
    steps = [json.loads(entry["line"]).get("step") for entry in body["entries"]]
    assert [step for step in steps if step] == ["receive", "set_aside", "release", "damaged"]


def whole(line):
    """A file of this first line, with its sum."""
    return line + b"\n" + hashlib.sha256(line).hexdigest().encode() + b"\n"


def test_only_what_the_program_writes_is_taken(proof):
    """Values of another kind that would come to the same sum; a name twice in one object."""
    path, mark = proof
    line = path.read_bytes().splitlines()[0]
    true = json.loads(line)
    size = b'"size":%d,' % true["size"]
    assert line.count(size) == 1
    for wrong in (
        line.replace(size, b'"size":"%d",' % true["size"]),
        line.replace(size, b'"size":%d.9,' % true["size"]),
        line.replace(size, b'"size":1e999,'),
        line.replace(size, b'"size":-1,'),
        line.replace(size, size + size),
        line.replace(b'"v":1', b'"v":true'),
        line.replace(b'"v":1', b'"v":1.0'),
        line.replace(b'"number":1,', b'"number":true,'),
        line.replace(true["root"].encode(), true["root"].upper().encode()),
        line.replace(b'"since":[', b'"since":"","was":['),
        line[:-1] + b',"more":1}',
        line.replace(b":", b": ", 1),
        b"[" * 50_000,
    ):
        assert wrong != line
        path.write_bytes(whole(wrong))
        found = run(path)
        assert (found.returncode, found.stdout) == (1, ""), wrong[-200:]
        assert found.stderr.startswith("does not hold: "), found.stderr
    path.write_bytes(whole(line))
    assert run(path, "--mark", "").returncode == 1  # an empty variable checks nothing
    assert run(path, "--mark", f" {mark.upper()}\n").returncode == 0


def test_a_terminal_without_the_letters_shows_the_file_holds(proof):
    """A sentence in another script, on a terminal of plain ASCII."""
    path, _ = proof
    line = path.read_bytes().splitlines()[0].replace(b'"serial":"A1"', b'"serial":"\\u017b1"')
    path.write_bytes(whole(line))
    command = [sys.executable, "-I", "-X", "utf8=0", str(SCRIPT), str(path)]
    plain = {"LC_ALL": "C", "PYTHONCOERCECLOCALE": "0"}
    found = subprocess.run(command, capture_output=True, env=plain, check=False)
    assert (found.returncode, found.stderr) == (0, b"")
    assert rb"\u017b1" in found.stdout


def test_a_record_that_was_changed_proves_nothing(proof, monkeypatch):
    """No file is handed out that its own script would refuse."""
    entries = [*proving.entries_up_to(Event.objects.count() + Outcome.objects.count())]
    monkeypatch.setattr(proving, "entries_up_to", lambda size: [*entries[:-1], b"{}"])
    with pytest.raises(NoProof, match=r"the record is not as its mark says.*audit"):
        proof_of("A1")


def test_what_cannot_be_proved_is_refused(proof):
    """A serial nobody knows, a mark that never was."""
    with pytest.raises(NoProof, match="expected one that is known here, got 'nobody'"):
        proof_of("nobody")
    with pytest.raises(NoProof, match="expected the size of a record mark"):
        proof_of("A1", [1])
