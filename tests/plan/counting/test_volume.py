"""Sealant: section x seam x (1 + waste), rounded up once, cartridges counted whole."""

import pytest

from kitting.plan.counting.volume import cartridges
from tests.plan.small import counted, thing, way

GLUE = [thing("glue", tracking="lot", unit="ul", pack=310000)]


@pytest.mark.parametrize(
    ("bead", "seam", "waste", "wanted"),
    [
        ('{ shape = "triangle", width = 8, depth = 6 }', "1000", 0, 24000),
        ('{ shape = "rectangle", width = 5, depth = 4 }', "1460", 12, 32704),
        ('{ shape = "round", width = 6 }', "4000", 15, 130062),  # 130061.9 up
        ('{ shape = "half round", width = 10 }', "1000", 0, 39270),
        ('{ shape = "triangle", width = 6, depth = 6 }', "75", 15, 1553),  # 1552.5 up
        ('{ shape = "triangle", width = 6, depth = 6 }', "{ fixed = 10, modules = 20 }", 0, 900),
    ],
)
def test_a_bead_takes_its_section_along_the_seam(bead, seam, waste, wanted):
    """mm2 x mm = mm3 = ul; waste is added before the one rounding up."""
    rule = f'item = "glue"\nbead = {bead}\nseam = {seam}\nwaste = {waste}'

    assert counted("volume", rule, GLUE, modules=2)[0] == {"glue": wanted}


@pytest.mark.parametrize(
    ("amount", "whole"),
    [(1, 1), (309999, 1), (310000, 1), (310001, 2), (930000, 3)],
)
def test_an_opened_cartridge_is_not_stock(amount, whole):
    """Whole cartridges are opened, one more for the last drop."""
    assert cartridges(amount, 310000) == whole


def test_a_round_bead_has_no_depth():
    """A depth beside a round bead is left over, and said so."""
    rule = 'item = "glue"\nbead = { shape = "round", width = 6, depth = 2 }\nseam = 1'

    assert "got the key 'depth'" in way("volume", rule, GLUE)[1][0]


def test_a_sealant_in_pieces_is_a_fault():
    """A volume is counted in ul."""
    rule = 'item = "bolt"\nbead = { shape = "round", width = 6 }\nseam = 1'

    assert way("volume", rule)[1] == ["rule: item: expected an item in ul, got 'bolt' in piece"]
