"""`manage.py read`: answers, exit codes, errors that name file and line."""

import io
import json
import os
import re
import subprocess
import sys

import pytest
from django.core.management import CommandError, call_command

from inventory.codes import own
from inventory.codes.reading import read
from tests.codes import hostile
from tests.counts import counts


def run(*args, **options):
    out = io.StringIO()
    call_command("read", *args, stdout=out, **options)
    return out.getvalue()


@pytest.fixture
def file(tmp_path):
    def write(*lines):
        path = tmp_path / f"{len(list(tmp_path.iterdir()))}.jsonl"
        path.write_bytes(b"\n".join(lines))
        return str(path)

    return write


def test_batch_lines_in_both_forms(file):
    """A line is a text, or a text with how it came; blank lines are skipped, answers keep order."""
    batch = file(b'"LB-1\\r"', b"", b'{"text": "LB-1\\r\\n", "via": "keys", "context": {}}')
    known = file(b'"LB-1"')

    answers = [json.loads(line) for line in run(batch=batch, known=known, json=True).splitlines()]

    kinds = [answer["refused"] and answer["refused"]["kind"] for answer in answers]
    assert [answer["input"] for answer in answers] == ["LB-1\r", "LB-1\r\n"]
    assert kinds == ["illegal_character", None]


def test_words_for_people():
    """Without --json the reading is told in words."""
    label = own.make("unit", 7)

    assert run(label) == f"{label}\n  own: own_kind unit, own_number 7\n"
    assert "gtin 09520123456788, serial A1" in run("010952012345678821A1")


@pytest.mark.parametrize(
    ("line", "message"),
    [
        (b'"a', "line 2: expected JSON in UTF-8, got "),
        (b'"\xff"', "line 2: expected JSON in UTF-8, got "),
        (b'"a\x00"', "line 2: expected JSON in UTF-8, got "),
        (b"[" * 100_000, "line 2: expected JSON in UTF-8, got "),
        (b"7", 'line 2: expected a JSON string or {"text": "..."}, got 7'),
        (b"{}", 'line 2: expected a JSON string or {"text": "..."}, got {}'),
        (b'{"text": "a", "colour": 1}', "expected keys out of context, text, via, got colour"),
        (b'{"text": "a", "via": "ear"}', "expected via out of keys, paired, symbol, hand, got ear"),
        (b'{"text": "a", "via": []}', "expected via out of keys, paired, symbol, hand, got []"),
        (b'{"text": "a", "context": 1}', "expected a context in braces, got 1"),
        (b'"' + b"a" * 200_000 + b'"', "expected at most 200000 bytes, got 200002 bytes"),
    ],
)
def test_bad_lines_are_named(file, line, message):
    """A bad line stops the batch before any answer, with file, line, expected and got."""
    batch = file(b'"a"', line)
    out = io.StringIO()
    with pytest.raises(CommandError) as error:
        call_command("read", batch=batch, json=True, stdout=out)

    assert str(error.value).startswith(f"{batch}, line 2: ")
    assert message in str(error.value)
    assert out.getvalue() == ""


def test_bad_files_are_named(file, tmp_path):
    """A missing file, a folder and a catalogue of other things are refused by name."""
    for name in (str(tmp_path / "missing"), str(tmp_path)):
        with pytest.raises(CommandError, match="expected a file that can be read"):
            run(batch=name)
    with pytest.raises(CommandError, match="line 1: expected a JSON string, got 5"):
        run("x", known=file(b"5"))


def test_exit_code_and_streams(tmp_path):
    """Refused input ends with 1 and the reason on stderr, without any database."""
    env = {**os.environ, "DATABASE_URL": f"sqlite:///{tmp_path}/none.sqlite3"}
    command = [sys.executable, "manage.py", "read", "--json"]
    good = subprocess.run([*command, "9520123456788"], env=env, capture_output=True, check=False)
    bad = subprocess.run([*command, "9520123456789"], env=env, capture_output=True, check=False)

    assert (good.returncode, good.stderr) == (0, b"")
    assert bad.returncode == 1
    assert b"check_digit: expected a right check digit, got 9520123456789" in bad.stderr
    assert json.loads(bad.stdout)["refused"]["kind"] == "check_digit"
    assert not (tmp_path / "none.sqlite3").exists()


def test_photos(tmp_path):
    """A photo gives one line; with nothing known nothing counts; a text file is refused."""
    zxingcpp = pytest.importorskip("zxingcpp")
    from PIL import Image

    label = own.make("unit", 7)
    symbol = zxingcpp.create_barcode(label, zxingcpp.BarcodeFormat.QRCode)
    picture = Image.fromarray(zxingcpp.write_barcode_to_image(symbol, scale=4))
    picture.convert("L").resize((400, 400)).save(tmp_path / "label.png")
    (tmp_path / "known").write_text(json.dumps(label))
    (tmp_path / "text.jpg").write_text("hello")

    photo = [str(tmp_path / "label.png")]
    unknown = json.loads(run(photo=photo, json=True))
    known = json.loads(run(photo=photo, known=str(tmp_path / "known"), json=True))

    assert set(unknown) == {"file", "codes", "refused", "unread"}
    assert [(label, False)] == [(code["text"], code["accepted"]) for code in unknown["codes"]]
    assert [(label, True)] == [(code["text"], code["accepted"]) for code in known["codes"]]
    with pytest.raises(CommandError, match=r"text.jpg: expected a JPEG, PNG or WebP picture"):
        run(photo=[str(tmp_path / "text.jpg")], json=True)


def test_what_was_seen_and_not_read_is_told_with_its_place(tmp_path):
    """Modules that are no code, beside one that is: the exit code says nothing of them."""
    import numpy as np
    from PIL import Image

    from tests.pictures import walls

    scene = np.full((500, 900), 150, np.uint8)
    label = walls.drawn("qr", "https://x.example/A1B2", 5.0)
    scene[100 : 100 + label.shape[0], 60 : 60 + label.shape[1]] = label
    modules = np.random.default_rng(1).integers(0, 2, (20, 20), np.uint8)
    scene[140:300, 600:760] = np.kron(modules, np.full((8, 8), 245, np.uint8))
    Image.fromarray(scene).save(tmp_path / "two.png")

    photo = [str(tmp_path / "two.png")]
    line, words = json.loads(run(photo=photo, json=True)), run(photo=photo)
    [place] = line["unread"]
    x, y, width, height = place["box"]

    assert [code["text"] for code in line["codes"]] == ["https://x.example/A1B2"]
    assert place["kind"] == "square"
    assert (x + width / 2, y + height / 2) == pytest.approx((680, 220), abs=20)
    assert words.splitlines()[-2:] == [
        "  1 more label was seen and not read: scan it singly",
        f"    square, {x} px from the left, {y} from the top, {width} x {height}",
    ]


def test_a_batch_of_hostile_texts_is_answered_line_by_line(file):
    """Each gives a reading or a named refusal, the same as the function; the batch ends with 0."""
    texts = list(hostile.texts(16, counts(1_000, 10_000)))
    batch = file(*(json.dumps({"text": text, "via": "keys"}).encode() for text in texts))

    lines = run(batch=batch, json=True).splitlines()

    assert len(texts) == len(lines)
    for text, line in zip(texts, lines, strict=True):
        answer = json.loads(line)
        assert answer == json.loads(json.dumps(read(text, "keys").as_json()))
        assert bool(answer["readings"]) != bool(answer["refused"])
        assert answer["readings"] or re.fullmatch("[a-z0-9_]+", answer["refused"]["kind"])


def test_labels_of_makers_name_texts(file):
    """A text that no scheme claims is read by its label, an address by its rule; bad lines stop."""
    labels = file(
        b'{"pattern": "XM{serial:d8}", "name": "modules", "symbology": "Code128"}',
        b'{"pattern": "https://example.com/u/{serial:n6}"}',
    )
    texts = ["XM00001234", "]C0XM00001234", "]Q1XM00001234", "https://example.com/u/00A1B2"]
    batch = file(*(json.dumps(text).encode() for text in texts))

    answers = [json.loads(a) for a in run(batch=batch, labels=labels, json=True).splitlines()]

    assert [a["readings"][0]["fields"] if a["readings"] else None for a in answers] == [
        {"serial": "00001234"},
        {"serial": "00001234"},
        None,
        {"serial": "00A1B2"},
    ]
    for line, message in (
        (b'{"pattern": "X"}', "line 1: label pattern: expected at least one field"),
        (b'{"pattern": 7}', 'line 1: expected {"pattern": "..."} with texts'),
        (b'{"pattern": "{lot:d1}", "color": "x"}', "expected keys out of name, pattern, symbology"),
    ):
        with pytest.raises(CommandError, match=re.escape(message)):
            run("x", labels=file(line))
