"""Codes read as the published vectors say (sources in data/codes/SOURCES.md).

Every vector goes through `manage.py read --batch --json`. A vector that does not pass stands in
not_passing.json with its reason; a stale or missing line there fails.
"""

import io
import json
from pathlib import Path

import pytest
from django.core.management import call_command

DATA = Path(__file__).parent / "data" / "codes"
NOT_PASSING = json.loads((DATA / "not_passing.json").read_text(encoding="utf-8"))
YEAR = {"year": 2026}  # "reference_year" of the vectors

ACCEPTED = {"accept", "accept_with_warning", "accept_if_calibrated", "split", "accept_both"}
REFUSED = {"reject", "ask"}

# Wedge cases in which the catalogue knows the text that was encoded.
KNOWN = ["LB-000123", "LB-000124", "LB-ZY0042", "LB-AB12"]


def vectors(name):
    return json.loads((DATA / f"{name}.json").read_text(encoding="utf-8"))["vectors"]


def answers(lines, tmp_path, known=()):
    """What the command prints for a batch, one answer a line."""
    (tmp_path / "batch").write_text("\n".join(json.dumps(line) for line in lines))
    (tmp_path / "known").write_text("\n".join(json.dumps(text) for text in known))
    out = io.StringIO()
    call_command(
        "read",
        batch=str(tmp_path / "batch"),
        known=str(tmp_path / "known"),
        json=True,
        stdout=out,
    )
    found = [json.loads(line) for line in out.getvalue().splitlines()]
    assert len(found) == len(lines)
    assert all((answer["refused"] is None) == bool(answer["readings"]) for answer in found)
    return found


def faults(rows, found, judge):
    """The ids whose answer is not what the vector says, without the explained ones."""
    wrong = {}
    for row, answer in zip(rows, found, strict=True):
        if fault := judge(row, answer):
            wrong[row["id"]] = fault
    expected = {row["id"] for row in rows} & set(NOT_PASSING)
    assert set(wrong) - expected == set(), {i: wrong[i] for i in set(wrong) - expected}
    assert expected - set(wrong) == set(), "these pass now: take them out of not_passing.json"


def judge_standard(row, answer):
    """A standard's vector: elements or formats, or the kind of refusal."""
    kind = answer["refused"] and answer["refused"]["kind"]
    if "expect_error" in row:
        wanted = {row["expect_error"], row.get("alt_error")}
        return "" if kind in wanted else f"wanted {row['expect_error']}, got {answer}"
    if row.get("associations") == "ignore" and kind == "missing_required":
        return ""
    if kind:
        return f"wanted a reading, got {kind}"
    reading = answer["readings"][0]
    for name in ("elements", "formats"):
        if name in row and row[name] != reading[name]:
            return f"wanted {row[name]}, got {reading[name]}"
    if "warning" in row and row["warning"] not in reading["warnings"]:
        return f"wanted warning {row['warning']}, got {reading['warnings']}"
    return "" if len(answer["readings"]) == 1 else "wanted one reading"


@pytest.mark.parametrize("name", ["gs1_good", "gs1_bad", "digital_link", "mh10"])
def test_standards_vectors(name, tmp_path):
    """GS1 element strings, Digital Links and ISO/IEC 15434 messages read as their standards say."""
    rows = vectors(name)
    lines = [
        {
            "text": row["input"],
            "via": "symbol",
            "context": {**YEAR, **({"identifiers": "DI"} if "context" in row else {})},
        }
        for row in rows
    ]

    faults(rows, answers(lines, tmp_path), judge_standard)


def judge_wedge(row, answer):
    """A hand scanner's text: taken for what was encoded, or refused by name."""
    expect = row["expect"]
    kind = answer["refused"] and answer["refused"]["kind"]
    action = expect["action"]
    if action == "accept_if_calibrated" and "context" not in row:
        asked = kind and expect["value"] in answer["refused"]["candidates"]
        return "" if asked else f"wanted a question about {expect['value']!r}, got {answer}"
    if action in REFUSED:
        wanted = (
            {expect["reason"], *expect.get("alt_reasons", ())} if "reason" in expect else {kind}
        )
        if not kind or kind not in wanted:
            return f"wanted {wanted}, got {answer}"
        lost = [c for c in expect.get("candidates", ()) if c not in answer["refused"]["candidates"]]
        return f"lacks candidates {lost}" if lost else ""
    if action == "generator_bug":
        warned = answer["readings"] and "generator_bug" in answer["readings"][0]["warnings"]
        return "" if warned or kind == action else f"wanted a warning, got {answer}"
    if kind:
        return f"wanted a reading, got {kind}: {answer['refused']['message']}"
    return judge_taken(expect, answer["readings"])


def judge_taken(expect, readings):
    """What an accepted text was taken for."""
    first = readings[0]
    if "gtin14" in expect and first["fields"].get("gtin") != expect["gtin14"]:
        return f"wanted {expect['gtin14']}, got {first['fields']}"
    if "elements" in expect and first["elements"] != expect["elements"]:
        return f"wanted {expect['elements']}, got {first['elements']}"
    texts = [reading["text"] for reading in readings]
    wanted = expect.get("values", [expect["value"]] if "value" in expect else texts)
    if texts != wanted:
        return f"wanted {wanted}, got {texts}"
    if expect["action"] == "accept_with_warning" and not first["warnings"]:
        return "wanted a warning"
    warning = expect.get("warn", "")
    named = warning.replace("_", "").isalpha() and "_" in warning
    return f"wanted {warning}" if named and warning not in first["warnings"] else ""


def test_wedge_cases(tmp_path):
    """Texts of published bug reports are read right or refused by name, never read wrong."""
    rows = vectors("wedge_cases")
    lines = [
        {
            "text": row["received"],
            "via": "keys",
            "context": {**YEAR, **row.get("context", {})},
        }
        for row in rows
    ]

    found = answers(lines, tmp_path, KNOWN)

    assert {row["expect"]["action"] for row in rows} == {
        *ACCEPTED,
        *REFUSED,
        "generator_bug",
        "ask_quantity",
    }
    faults(rows, found, judge_wedge)


def test_same_article_twice_asks_for_a_quantity(tmp_path):
    """w51: the same article twice in one burst is two readings that ask how many."""
    row = next(row for row in vectors("wedge_cases") if row["id"] == "w51")
    line = {"text": row["received"], "via": "keys", "context": row["context"]}

    readings = answers([line], tmp_path)[0]["readings"]

    assert [reading["fields"]["gtin"] for reading in readings] == ["09520123456788"] * 2
    assert all("ask_quantity" in reading["warnings"] for reading in readings)


# What the vectors' "interpreted" keys say, in our words.
INTERPRETED = {
    "g20": {"piece": 5, "pieces": 10},
    "g30": {"expiry": "2026-02-28"},
    "g32": {"made": "1977-01-01"},
    "g33": {"expiry": "2076-01-01"},
    "g36": {"gross_weight_kg": "12.50"},
    "g42": {"made_at": "2026-01-31T12:05:00"},
    "d06": {"net_weight_kg": "0.195"},
    "m08": {"week": "2026-W17"},
    "m10": {"made": "2026-01-31"},
    "m12": {"quantity": 25, "uom": "PC"},
}


def test_interpreted_values(tmp_path):
    """Dates, weights, pieces and quantities mean what the vectors' sources say."""
    rows = [r for n in ("gs1_good", "digital_link", "mh10") for r in vectors(n)]
    rows = [row for row in rows if "interpreted" in row]
    lines = [{"text": row["input"], "via": "symbol", "context": YEAR} for row in rows]

    found = answers(lines, tmp_path)

    assert set(INTERPRETED) == {row["id"] for row in rows}
    for row, answer in zip(rows, found, strict=True):
        fields = answer["readings"][0]["fields"]
        assert INTERPRETED[row["id"]].items() <= fields.items(), row["id"]
        spoken = json.dumps(row["interpreted"])
        assert all(str(value) in spoken for value in INTERPRETED[row["id"]].values()), row["id"]


def test_a_dropped_separator_is_never_accepted(tmp_path):
    """Each good vector that needs its separators is refused, or read the same, without them."""
    rows = [row for row in vectors("gs1_good") if "\x1d" in row["input"].rstrip("\x1d")]
    lines = [{"text": row["input"].replace("\x1d", ""), "via": "keys"} for row in rows]

    assert len(rows) >= 10
    for row, answer in zip(rows, answers(lines, tmp_path), strict=True):
        for reading in answer["readings"]:
            assert row["elements"] == reading["elements"], row["id"]
        if row["id"] in ("g01", "g06", "g38", "g49"):
            assert answer["refused"]["kind"] == "separator_suspect", row["id"]
            assert row["elements"] in answer["refused"]["candidates"], row["id"]
