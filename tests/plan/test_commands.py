"""`manage.py kit` and `manage.py check_family` on real files, without a database."""

import json

import jsonschema
import pytest
from django.core.management import CommandError, call_command

from tests.plan.shipped import FAMILIES, NAMES, edition, hand
from tests.plan.small import text


def run(capsys, *args):
    """(what was printed, the error or None)."""
    error = None
    try:
        call_command(*args)
    except CommandError as raised:
        error = raised
    return capsys.readouterr().out, error


@pytest.fixture
def written(tmp_path):
    def write(data, name="config.json"):
        path = tmp_path / name
        path.write_text(data if isinstance(data, str) else json.dumps(data), encoding="utf-8")
        return str(path)

    return write


@pytest.mark.parametrize("name", NAMES)
def test_every_hand_worked_kit_keeps_the_schema(name, capsys, written):
    """Configuration and kit of each hand-worked case are valid against `--schema`."""
    printed, _ = run(capsys, "kit", "--schema", "--family", str(FAMILIES / f"{name}.toml"))
    schemas = json.loads(printed)
    for given in hand(name).values():
        told, error = run(capsys, "kit", written(given), "--json")
        assert error is None
        jsonschema.Draft202012Validator(schemas["configuration"]).validate(given)
        jsonschema.Draft202012Validator(schemas["kit"]).validate(json.loads(told))


def test_the_text_is_by_step_with_reasons(capsys, written):
    """A person reads what a step takes, why, and who decides."""
    told, error = run(capsys, "kit", written(hand("tower")["T01"]))

    assert error is None
    assert told.startswith("Corbel Tower, parts list of 2026-11-03")
    assert "  5  screw M5x12 with washer (CT-SCREW5)" in told
    assert (
        "for fix to wall: bracket screws: stack 1: 1 stack; the parts list has 5 for 1 module [R9]"
        in told
    )
    assert "Decides: the maker's manual" in told
    assert told.index("Look over") < told.index("Fix\n") < told.index("Covers")


def test_why_is_answered_in_words_and_as_data(capsys, written):
    """By code or name; what is not on the list says why; a code nobody lists is an error."""
    path = written(hand("tower")["T01"])
    told, error = run(capsys, "kit", path, "--why", "CT-SCREW5")
    data, _ = run(capsys, "kit", path, "--why", "Screw M5x12 with washer", "--json")
    none, _ = run(capsys, "kit", path, "--why", "CT-SHELF")
    unknown = run(capsys, "kit", path, "--why", "CT-SHELVE")[1]
    printed, _ = run(capsys, "kit", "--schema")

    assert error is None
    assert "stack 1: the parts list has 5 for 1 module (parts list, rule R9)" in told
    jsonschema.Draft202012Validator(json.loads(printed)["why"]).validate(json.loads(data))
    assert json.loads(data)["steps"][0]["parts"][0]["rule"] == "R9"
    assert "wall shelf (CT-SHELF) is not on this list.\n  Rule R5 gives wall shelf" in none
    assert "CT-SHELVE is not in the parts list" in str(unknown)
    assert "wall shelf (CT-SHELF)" in str(unknown)


def test_a_refused_configuration_tells_every_reason_and_fails(capsys, written):
    """All broken limits on stdout as JSON, and the command does not exit with success."""
    bad = {**hand("tower")["T01"], "stacks": [{"modules": 5}, {"modules": 4}], "gap": 90}
    bad |= {"mount": "wall"}
    told, error = run(capsys, "kit", written(bad), "--json")

    assert [refusal["rule"] for refusal in json.loads(told)["refused"]] == ["L1", "L2", "L7"]
    assert json.loads(told)["lines"] == []
    assert "On the wall a stack has 1 to 4 modules" in str(error)


def test_an_answer_nobody_understands_is_refused_in_the_same_shape(capsys, written):
    """A wrong value is a refusal with its question."""
    bad = {**hand("tower")["T01"], "wall": "cheese", "ac_run": -5}
    told, error = run(capsys, "kit", written(bad), "--json")

    assert [refusal["rule"] for refusal in json.loads(told)["refused"]] == ["wall", "ac_run"]
    assert "expected one of timber, solid, hollow, aerated, got 'cheese'" in str(error)


@pytest.mark.parametrize(
    ("data", "message"),
    [
        ("{", "config.json: expected JSON"),
        ("[" * 100_000, "config.json: expected JSON"),
        (
            '{"family": "moon"}',
            "configuration: family: expected one of bank, row, tower, got 'moon'",
        ),
        ('{"family": "../../manage"}', "configuration: family: expected one of bank, row, tower"),
        ("[]", "configuration: family: expected one of bank, row, tower, got None"),
    ],
)
def test_a_file_that_is_no_configuration(data, message, capsys, written):
    """Each is one clear line."""
    assert message in str(run(capsys, "kit", written(data))[1])


def test_a_file_that_is_not_there(capsys):
    """A missing file is named."""
    error = run(capsys, "kit", "nowhere.json")[1]

    assert str(error).startswith("nowhere.json: expected a file that can be read, got nothing")


def test_bytes_that_are_no_text(capsys, tmp_path):
    """A file of bytes is refused in words."""
    path = tmp_path / "a.toml"
    path.write_bytes(b"\xff\xfe\x00")

    assert "a.toml: expected a readable text file" in str(run(capsys, "check_family", str(path))[1])


def test_check_family_passes_a_whole_family(capsys, written):
    """The small family: no faults, and what was checked is told."""
    told, error = run(capsys, "check_family", written(text(), "small.toml"), "--json")
    found = json.loads(told)

    assert error is None
    assert list(found) == [
        *("configurations", "discrete", "evaluated", "seconds", "ways", "needs", "faults"),
        "counter_example",
    ]
    assert (found["faults"], found["counter_example"]) == ([], None)


def test_check_family_fails_a_broken_one_and_its_example_is_refused(capsys, written):
    """The counter-example goes straight into `kit --family` and is refused there."""
    path = written(text(without=("plugs",)), "small.toml")
    told, error = run(capsys, "check_family", path, "--json")
    example = json.loads(told)["counter_example"]
    _, refused = run(capsys, "kit", written(example), "--family", path)

    assert "no rule meets: anchor: wall" in str(error)
    assert "no rule meets: anchor: wall" in str(refused)


def test_check_family_tells_a_broken_file(capsys, written):
    """A fault of the file is told with its table and key."""
    path = written(text().replace("mass_g = 400", "mass_g = -4"), "small.toml")

    assert "small.toml: item 'bracket': mass_g: expected a whole number from 0" in str(
        run(capsys, "check_family", path)[1]
    )


def test_no_command_gives_an_all_clear(capsys, written):
    """The barred word stands in no kit of the shipped families."""
    for name in NAMES:
        for given in hand(name).values():
            assert "safe" not in run(capsys, "kit", written(given))[0].lower()
        assert edition(name).title
