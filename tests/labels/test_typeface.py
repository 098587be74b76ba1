"""Print is drawn with one typeface file, and says where it has no letter."""

import ast
from pathlib import Path

import pytest
import reportlab
from PIL import ImageFont

from inventory.labels import typeface
from tests.tree import TOP, parsed, sources

CARRIED = Path(reportlab.__file__).parent / "fonts"  # by the pinned package
FACES = [
    *(path for path in typeface.CANDIDATES if path.is_file()),
    CARRIED / "VeraBd.ttf",
]
# Source: the alphabets of the three languages; quotation marks and dashes by their usual rules.
LETTERS = "".join(map(chr, range(33, 127))) + "ÄÖÜäöüßẞÁÉÍÓÚÜÑáéíóúüñ¿¡ªº„“”‚‘’«»–—…€°²µ×±½"  # noqa: RUF001  # these signs are meant
LACKING = {"ẞ"}  # the capital of 2017 is in no face as old as Vera; people write SS


def printed_texts() -> str:
    """All that our own sheets and labels may say beyond what people typed."""
    rooms = ("kitting/printing", "kitting/plan", "inventory/labels")
    files = [*sources(*rooms), TOP / "inventory/labelling.py", TOP / "inventory/words.py"]
    nodes = [node for file in files for node in ast.walk(parsed(file))]
    texts = [node.value for node in nodes if isinstance(node, ast.Constant)]
    return "".join(text for text in texts if isinstance(text, str))


@pytest.mark.parametrize("face", FACES, ids=lambda path: path.name)
def test_no_letter_of_our_languages_is_an_empty_box(face: Path) -> None:
    """English, German and Spanish, and each sign our printed texts hold, in every face we may use.

    A box is what the typeface draws for a sign it does not know.
    """
    font = ImageFont.truetype(str(face), 24)
    box = bytes(font.getmask("\ue123"))
    ours = {letter for letter in printed_texts() if letter.isprintable() and letter != " "}
    boxes = {sign for sign in ours | set(LETTERS) if bytes(font.getmask(sign)) in (box, b"")}

    assert len(ours) > 60
    assert "²" in ours
    assert boxes <= LACKING


def test_the_face_comes_with_its_licence() -> None:
    """What the pinned package carries may be embedded in what we print."""
    licence = (CARRIED / "bitstream-vera-license.txt").read_text(encoding="latin-1")

    assert "to reproduce and distribute the Font Software" in " ".join(licence.split())


def test_letters_of_western_europe_are_drawn() -> None:
    """Whichever file is found, these letters are in it."""
    assert typeface.drawable("Größe Ñandú") == "Größe Ñandú"


def test_what_the_typeface_lacks_is_a_question_mark() -> None:
    """A private-use character is in no typeface; it must not come out as an empty box."""
    assert typeface.drawable("a\ue123b") == "a?b"


def test_too_wide_a_line_ends_with_an_ellipsis() -> None:
    """The cut line fits, and shows that it was cut."""
    cut = typeface.fitted("a very long name of a place", 10, 60)

    assert cut.endswith("…")
    assert typeface.registered().stringWidth(cut, 10) <= 60


def test_a_code_shrinks_and_is_never_cut() -> None:
    """The height falls until the whole text fits."""
    text = "(01)09521234543213(21)" + "W" * 20
    size = typeface.size_fitting(text, 21, 300)

    assert 0 < size < 21
    assert typeface.registered().stringWidth(text, size) <= 300
