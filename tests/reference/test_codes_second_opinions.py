"""biip and python-stdnum judge the same texts; where they differ from us is listed and explained.

The list is data/codes/disagreements.csv. A disagreement that is not in it fails.
"""

import csv
import json
import random
import re
from pathlib import Path

import pytest
from biip.gs1_application_identifiers import _GS1_APPLICATION_IDENTIFIERS as OF_BIIP
from biip.sscc import Sscc
from biip.upc import Upc
from stdnum import ean, numdb

from inventory.codes import check_digits, gtin, identifiers
from inventory.codes.errors import CodeError
from inventory.codes.reading import read
from tests.counts import counts
from tests.reference import second_opinions as second

DATA = Path(__file__).parent / "data" / "codes"
LINES = (DATA / "disagreements.csv").read_text(encoding="utf-8").splitlines()
KNOWN = {
    (row["library"], row["form"], row["we"], row["they"]): row
    for row in csv.DictReader((line for line in LINES if line[0] != "#"), delimiter=";")
}
DATES = {"11": "made", "12": "due", "13": "packed", "15": "best_before", "17": "expiry"}


WHOLE = ("423", "425")  # up to five countries of three digits each; stdnum: N3+N..12


def disagreements(text):
    """Yield (key of the list, identifier that we name) for all that others see otherwise."""
    form = "elements" if text.startswith(("]C1", "]Q3")) else "link"
    mine = second.ours(text)
    opinions = [("biip", second.of_biip(text))]
    if form == "elements":
        opinions.append(("stdnum", second.of_stdnum(text, mine)))
    for library, theirs in opinions:
        they = second.opinion(mine, theirs)
        if they != (second.REFUSES if mine.kind else second.READS):
            yield (library, form, mine.kind or "reads", they), mine.identifier
    dates = [("biip", second.dates_of_biip(text)), ("stdnum", second.dates_of_stdnum(text))]
    for library, found in dates:
        for code, date in found.items():
            if not mine.kind and mine.fields.get(DATES.get(code)) not in (date, None):
                yield (library, form, "date", "reads other"), code


def texts():
    """Vectors, seeded right texts, and the same with one slip each."""
    rng = random.Random(20)
    for name in ("gs1_good", "gs1_bad"):
        for row in json.loads((DATA / f"{name}.json").read_text())["vectors"]:
            if row["input"][:1] not in ("", "(", "]"):
                yield "]C1" + row["input"]
    valid = list(second.valid_texts(19, counts(700, 10_000)))
    yield from valid
    yield from (second.mutated(rng, text) for text in valid)
    links = [r["input"] for r in json.loads((DATA / "digital_link.json").read_text())["vectors"]]
    yield from links
    yield from (second.mutated(rng, text) for text in links for _ in range(counts(5, 100)))


def test_every_disagreement_is_listed():
    """Over thousands of texts the two see nothing otherwise that is not explained in the list."""
    new = {}
    for text in texts():
        for key, identifier in disagreements(text):
            if key not in KNOWN or identifier in KNOWN[key]["except"].split():
                new.setdefault((key, identifier), text)

    assert new == {}


@pytest.mark.parametrize("key", KNOWN, ids="-".join)
def test_each_listed_disagreement_still_stands(key):
    """A library that changed its mind comes off the list; each line says who is right and why."""
    row = KNOWN[key]
    example = row["example"].replace("{GS}", "\x1d").replace("\\r", "\r")

    assert key in [found for found, _ in disagreements(example)]
    assert row["right"] in ("we", "they")
    assert row["why"].endswith(".")


def test_without_its_separators_nothing_is_read_wrong():
    """What biip reads of the whole text is among the candidates when a keyboard dropped them."""
    offered = asked = 0
    for text in second.valid_texts(31, counts(250, 4_000)):
        truth, lost = second.of_biip(text), text.replace("\x1d", "")
        if lost == text or second.ours(text).kind:
            continue
        answer = read(lost.removeprefix("]C1"), "keys")
        assert [r.elements for r in answer.readings] in ([], [truth]), lost
        asked += 1
        offered += answer.refused is not None and truth in answer.refused.candidates

    assert asked > 100
    assert offered / asked > 0.98  # the rest: a search that was cut, or 9x beside a lone element


def lengths(form):
    """(shortest, longest) value of a form of stdnum such as `N3+X..9` or `N6[+N4]`."""
    least = most = 0
    for part in form.replace("[+", "+[").split("+"):
        optional = part.startswith("[")
        kind = part.strip("[]")
        count = int(re.findall("[0-9]+$", kind)[0]) if kind != "-" else 1
        most += count
        least += 0 if optional else 1 if ".." in kind else count
    return least, most


def test_the_table_of_identifiers():
    """All 541 identifiers stand in both libraries, with the same separators and lengths."""
    table = identifiers.table()
    theirs = numdb.get("gs1_ai")
    wrong = []
    for code, mine in table.items():
        found, info = theirs.info(code + "0")[0]
        if (
            found != code
            or mine.fixed == ("fnc1" in info)
            or mine.fixed == OF_BIIP[code].separator_required
        ):
            wrong.append(code)
        elif code not in WHOLE and lengths(info["format"]) != (mine.least, mine.most):
            wrong.append((code, info["format"], mine.least, mine.most))

    assert set(table) == set(OF_BIIP)
    assert wrong == []


def test_check_digits():
    """Article numbers, locations and container codes of random digits: the same verdict."""
    rng = random.Random(21)
    verdicts = set()
    for _ in range(counts(1_000, 10_000)):
        size = rng.choice([8, 12, 13, 14, 18])
        number = "".join(rng.choice("0123456789") for _ in range(size))
        if rng.random() < 0.5:
            number = number[:-1] + ean.calc_check_digit(number[:-1])
        mine = check_digits.is_checked(number)
        verdicts.add((size, mine))
        if size == 18:
            assert mine == _parses(Sscc.parse, number), number
        else:
            assert mine == ean.is_valid(number) == gtin.is_valid(number), number

    assert len(verdicts) == 10


def test_expanding_upc_e():
    """Eight digits of a UPC-E symbol stand for the same twelve."""
    rng = random.Random(22)
    read = 0
    for _ in range(counts(300, 3_000)):
        stem = rng.choice("01") + "".join(rng.choice("0123456789") for _ in range(6))
        for digit in "0123456789":
            try:
                mine = gtin.expand_upc_e(stem + digit)
            except CodeError:
                assert not _parses(Upc.parse, stem + digit)
                continue
            read += 1
            assert Upc.parse(stem + digit).as_upc_a() == mine

    assert read == counts(300, 3_000)  # one check digit of ten is right


def _parses(parse, text):
    from biip import ParseError

    try:
        parse(text)
    except ParseError:
        return False
    return True
