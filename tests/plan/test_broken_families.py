"""Thirty-odd families, each with one fault: the split comes to the very faults that plain
enumeration of every job, every row of stacks, every answer and every millimetre comes to."""

import json

import pytest
from django.core.management import CommandError, call_command

from kitting.plan import family, proof
from tests.plan import brute
from tests.plan.broken import BROKEN


def test_there_are_thirty():
    """As many as were asked for, at least."""
    assert len(BROKEN) >= 30


@pytest.mark.parametrize("name", BROKEN)
def test_the_split_finds_what_plain_enumeration_finds(name, tmp_path, capsys):
    """Both come to the same faults, and each counter-example is refused by `kit --family`."""
    written, bounds, at_fault = BROKEN[name]
    known = brute.narrowed(family.parse(written, "small.toml"), **bounds)
    found = proof.check(known)

    assert {(f.kind, f.rule, f.part) for f in found.faults} == brute.faults(known)
    assert {f.rule for f in found.faults} == at_fault
    assert found.discrete == brute.size(known)[1] <= found.configurations
    for fault in found.faults if at_fault != {"moon"} else ():
        refused(fault, known, written, bounds, tmp_path, capsys)


def refused(fault, known, written, bounds, folder, capsys):
    """The command refuses the counter-example of a fault for that fault."""
    config, edition = folder / "config.json", folder / "small.toml"
    config.write_text(json.dumps(fault.example))
    edition.write_text(written)
    with pytest.raises(CommandError):
        call_command("kit", str(config), family=str(edition), json=True)
    said = json.loads(capsys.readouterr().out)["refused"]

    assert fault.message in {one["message"] for one in said}
