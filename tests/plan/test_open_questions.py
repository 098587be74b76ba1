"""An unknown answer is an open question with the lines of each possible answer."""

from kitting.plan import configuration, family, kit
from tests.plan.shipped import edition, hand
from tests.plan.small import quantities, text, work_out


def test_an_unknown_diameter_lists_every_gland():
    """Each stretch of diameters with its own lines; nothing of it stands in the kit yet."""
    found = work_out(od="unknown")
    question = found.unresolved[0]

    assert (question.axis, question.needs) == ("od", ("enter cable: mains",))
    assert [(answer.answer, list(quantities(answer.lines))) for answer in question.answers] == [
        ("4 mm to 10.9 mm", [("g20", "gland"), ("reducer", "gland"), ("nut", "gland")]),
        ("11 mm to 20 mm", [("g25", "gland"), ("nut", "gland")]),
    ]
    assert not {"g20", "g25", "nut"} & {line.item for line in found.lines}


def test_what_does_not_hang_on_it_is_a_plain_line():
    """The cable, the brackets and the modules are there all the same."""
    known = quantities(work_out(od=130).lines)
    unknown = quantities(work_out(od="unknown").lines)

    assert known == {**unknown, ("g25", "gland"): 1, ("nut", "gland"): 1}


def test_an_answer_that_nothing_fits_says_so():
    """A hole in the gland range shows as an answer that cannot stand."""
    narrow = text().replace("[110, 200]", "[130, 200]")
    found = work_out(family.parse(narrow, "small.toml"), od="unknown")
    answers = {answer.answer: answer.refused for answer in found.unresolved[0].answers}

    assert list(answers) == ["4 mm to 12 mm", "12.1 mm to 12.9 mm", "13 mm to 20 mm"]
    assert "nothing listed fits diameter 12.1 mm" in answers["12.1 mm to 12.9 mm"][0]
    assert answers["4 mm to 12 mm"] == answers["13 mm to 20 mm"] == ()


def test_each_answer_agrees_with_the_kit_it_would_give():
    """Answered, the kit is the open kit and exactly the lines of that answer."""
    known, given = edition("tower"), hand("tower")["T10"]
    opened = kit.work_out(known, configuration.parse(given, known))
    for value, answer in zip((80, 121, 240), opened.unresolved[0].answers, strict=True):
        told = kit.work_out(known, configuration.parse({**given, "ac_od": value}, known))
        together = dict(quantities(opened.lines))
        for key, quantity in quantities(answer.lines).items():
            together[key] = together.get(key, 0) + quantity
        assert quantities(told.lines) == together
