"""The table of GS1 identifiers."""

from inventory.codes import identifiers
from inventory.codes.value_checks import CHECKS


def test_table_head_names_its_source():
    """The first lines say source, licence, edition and what is not checked."""
    head = identifiers.TABLE.read_text(encoding="utf-8")[:2000]
    assert all(word in head for word in ("Source:", "Apache License", "Edition:", "Not checked:"))


def test_every_row_is_usable():
    """Checks exist, only the last parts vary in length, patterns are digits and n."""
    for code, row in identifiers.table().items():
        assert code.isdigit()
        assert row.parts
        assert row.least <= row.most <= 90
        assert all(not part.check or part.check in CHECKS for part in row.parts)
        fixed = [part.least == part.most for part in row.parts[:-1]]
        assert all(fixed), code
        assert not row.fixed or row.least == row.most
        patterns = [p for group in row.needs for p in group] + list(row.forbids)
        assert all(set(p) <= set("0123456789n") for p in patterns)


def test_first_two_digits_decide_the_length():
    """No identifier is the start of another, so a text has one first identifier."""
    codes = sorted(identifiers.table())
    lengths = {}
    for code in codes:
        assert lengths.setdefault(code[:2], len(code)) == len(code)
    assert identifiers.at("3103000189", 0).code == "3103"
    assert identifiers.at("3106000189", 0) is None
    assert identifiers.at("23", 0) is None
    assert identifiers.at("", 0) is None


def test_patterns():
    """A pattern's n stands for one digit."""
    assert identifiers.matches("310n", "3103")
    assert identifiers.matches("31nn", "3165")
    assert not identifiers.matches("310n", "310")
    assert not identifiers.matches("310n", "3203")
