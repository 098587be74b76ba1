"""Real photographs of other people's codes, read by the product: see tests.pictures.photographs.

Source of the photographs and their truth: zxing/zxing and zxing-cpp/zxing-cpp (Apache-2.0),
ericblade/quagga2 (MIT), as truth.json lists them; the chain to beat: tests.pictures.listed_chain.
"""

import pytest

from inventory.pictures.photo import check_file
from inventory.pictures.reading import read_photo
from tests.counts import counts
from tests.pictures.listed_chain import listed_chain
from tests.pictures.photographs import SECOND, Photograph, form, known, photographs
from tests.pictures.singles import near

pytestmark = pytest.mark.corpus

# Chosen by kind before they were read: the real phone photos of each kind that come first in
# order and are not called unread by the list; and two photos without a code.
CHOSEN = (
    "code128_000.jpg",
    "code128_001.jpg",
    "code128_002.jpg",
    "ean13_030.jpg",
    "ean13_031.jpg",
    "upca_052.jpg",
    "code39_068.jpg",
    "itf_082.png",
    "qr_094.png",
    "datamatrix_116.webp",
    "aztec_130.png",
    "pdf417_139.png",
)


@pytest.fixture(autouse=True)
def beside() -> None:
    """A skip in words where the photographs are not there."""
    if not photographs():
        pytest.skip("the photographs are not beside the project (../shared/reference/pictures)")


def accepted(data: bytes, texts: set[str]) -> set[str]:
    """What the product takes as read."""
    answer = read_photo(data, texts)
    assert answer.refused is None
    return {form(code.text, code.symbology) for code in answer.codes if code.accepted}


def wrong(photograph: Photograph, found: set[str]) -> bool:
    """Whether anything but the truth was taken."""
    others = found - {form(photograph.text, photograph.symbology)}
    return bool(others) and not photograph.sha256.startswith(SECOND)


@pytest.mark.parametrize("name", CHOSEN)
def test_a_photograph_gives_its_code_and_never_a_near_one(name) -> None:
    """With the truth and a near miss known, exactly the truth is taken."""
    [photograph] = [each for each in photographs() if each.file == name]
    data, truth = photograph.data(), photograph.text
    miss = near(truth, photograph.symbology)

    assert accepted(data, {truth, miss}) == {form(truth, photograph.symbology)}
    assert accepted(data, {miss}) == set()
    assert accepted(data, set()) == set()


def test_photographs_without_a_code_give_none() -> None:
    """Textures and shelves, with every text of the corpus and a near miss of each known."""
    empty = [each for each in photographs() if not each.text]

    assert len(empty) >= 6
    for each in empty:
        assert accepted(each.data(), known()) == set()


def test_photographs_are_read_as_well_as_by_the_best_chain_listed() -> None:
    """As many or more, 0 wrong; every text and a near miss of each known. All in `make prove`."""
    coded = [each for each in photographs() if each.text][:: counts(4, 1)]
    catalogue = {text.zfill(14) for text in known() if text.isdigit()}
    ours = theirs = 0
    for each in coded:
        data, truth = each.data(), form(each.text, each.symbology)
        found = accepted(data, known())
        ours += truth in found
        listed, _ = listed_chain(check_file(data).grey(), catalogue)
        theirs += truth in {form(*value) for value in listed}

        assert not wrong(each, found), f"{each.file}: a text that it does not carry was taken"

    assert ours >= theirs
    assert ours >= len(coded) * 0.9


def test_a_near_miss_alone_is_never_taken() -> None:
    """Every photograph again in `make prove`, its own truth left out of what is known."""
    coded = [each for each in photographs() if each.text][:: counts(24, 1)]
    for each in coded:
        others = known() - {each.text}
        others -= {other.text for other in photographs() if each.sha256.startswith(SECOND)}
        same = {text for text in others if form(text, "EAN13") == form(each.text, "EAN13")}

        assert accepted(each.data(), others - same) == set(), each.file
