"""A configuration that its family does not understand is refused with every reason."""

import json

import pytest

from kitting.plan import configuration
from kitting.plan.errors import ConfigurationError
from tests.plan.small import edition, given

GAP = '[[axis]]\nname = "gap"\nquestion = "How far?"\nkind = "length"\nmin = 10\nmax = 90\n'
GAP += "when = { stacks = { min = 2 } }"

# (what is changed, the key at fault, the message)
FAULTS = [
    ({"family": "tower"}, "family", "expected 'small', got 'tower'"),
    ({"job": "visit"}, "job", "expected one of new, expansion, swap, removal, got 'visit'"),
    ({"job": "swap"}, "swap", 'expected the places, as [{"stack": 1, "level": 2}], got nothing'),
    (
        {"job": "swap", "swap": [{"stack": 1, "level": 4}]},
        "swap[0]",
        'expected a place of the stacks, as {"stack": 1, "level": 2}, got ',
    ),
    ({"swap": []}, "swap", "expected nothing but for a swap, got []"),
    ({"take_both": ["od"]}, "take_both", "expected questions answered 'unknown', got 'od'"),
    ({"stacks": []}, "stacks", "expected a list of 1 to 2 stacks, got []"),
    ({"stacks": [{"modules": 4}]}, "stacks[0].modules", "whole number from 1 to 3, got 4"),
    ({"stacks": [{"modules": -1}]}, "stacks[0].modules", "got -1"),
    ({"stacks": [{"modules": True}]}, "stacks[0].modules", "got true"),
    ({"stacks": [{"modules": 10**30}]}, "stacks[0].modules", "got 1000000"),
    ({"stacks": [{"modules": 2, "colour": 1}]}, "stacks[0]", '{"modules": n}'),
    ({"wall": "stone"}, "wall", "expected one of brick, wood, got 'stone'"),
    ({"wall": "unknown"}, "wall", "expected one of brick, wood, got 'unknown'"),
    ({"wall": "brick\x00"}, "wall", "got 'brick\\x00'"),
    ({"od": 39}, "od", "whole number from 40 to 200 tenths of mm or unknown, got 39"),
    ({"od": 130.0}, "od", "got 130.0"),
    ({"run": None}, "run", "whole number from 500 to 9000 mm, got nothing"),
    ({"moon": 1}, "moon", "expected a question of the family, got 1"),
    ({"a\x00b": 1}, "a\\x00b", "expected a question of the family"),
    ({"before": {"stacks": []}}, "before", "expected nothing but for an expansion"),
    ({"job": "expansion"}, "before", "expected what stands there now"),
    ({"job": "expansion", "before": {"stacks": [{"modules": 9}]}}, "before.stacks[0].modules", "9"),
]


@pytest.mark.parametrize(("change", "key", "message"), FAULTS)
def test_a_wrong_answer_is_told_with_its_key(change, key, message):
    """Each fault names the question, what was expected, and what came."""
    with pytest.raises(ConfigurationError) as raised:
        configuration.parse(given(**change), edition())

    assert [fault.key for fault in raised.value.faults] == [key]
    assert message in raised.value.faults[0].message


def test_every_wrong_answer_is_told_at_once():
    """Three wrong answers are three faults."""
    with pytest.raises(ConfigurationError) as raised:
        configuration.parse(given(wall="stone", od=1, run=1), edition())

    assert [fault.key for fault in raised.value.faults] == ["wall", "od", "run"]


@pytest.mark.parametrize("data", [None, [], "x", 3])
def test_no_object_is_no_configuration(data):
    """What is not a JSON object is refused in one line."""
    with pytest.raises(ConfigurationError, match="configuration: expected an object"):
        configuration.parse(data, edition())


def test_a_question_that_does_not_arise_has_no_answer():
    """An answer where nothing is asked is refused, and so is none where something is."""
    known = edition(more=GAP)
    two = [{"modules": 1}, {"modules": 1}]

    assert configuration.parse(given(stacks=two, gap=50), known).answers["gap"] == 50
    assert configuration.parse(given(), known).answers["gap"] is None
    with pytest.raises(ConfigurationError, match="gap: expected nothing: the question does not"):
        configuration.parse(given(gap=50), known)
    with pytest.raises(ConfigurationError, match="gap: expected a whole number from 10 to 90 mm"):
        configuration.parse(given(stacks=two), known)


def test_what_stands_is_as_now_unless_said():
    """An expansion's `before` takes over the answers that it does not name."""
    known = edition(more=GAP)
    before = {"stacks": [{"modules": 1}], "od": 90}
    two = [{"modules": 1}, {"modules": 1}]
    found = configuration.parse(
        given(job="expansion", stacks=two, gap=50, before=before), known
    ).before

    assert (found.shape, found.answers["od"], found.answers["wall"]) == ((1,), 90, "brick")
    assert found.answers["gap"] is None


def test_a_configuration_goes_back_to_what_was_given():
    """Told as JSON and read again it is the same."""
    known = edition()
    data = given(stacks=[{"modules": 2, "revisions": ["B", "B"]}], job="removal")
    found = configuration.parse(data, known)

    assert json.loads(json.dumps(found.as_json())) == data
    assert configuration.parse(found.as_json(), known) == found
