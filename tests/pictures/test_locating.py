"""Where something that could be a code lies is found; what it says is another's matter."""

import numpy as np

from inventory.pictures.locating import Spot, spots
from tests.pictures import walls
from tests.pictures.test_wall import grey_of


def test_every_label_of_a_wall_lies_in_a_place() -> None:
    """Under hard blur too, and a place is not much larger than its label."""
    seen = walls.wall(60, "hard", 11)
    found = spots(grey_of(seen))

    for x, y, width, height in seen.boxes:
        there = [spot for spot in found if spot.holds(x + width / 2, y + height / 2)]
        assert there, (x, y)
        assert min(spot.width * spot.height for spot in there) < 9 * width * height


def test_plain_ground_has_no_place() -> None:
    """Neither a blank picture nor one of the least size."""
    assert spots(np.full((900, 1200), 200, np.uint8)) == []
    assert spots(np.full((32, 32), 200, np.uint8)) == []


def test_a_place_is_cut_out_of_the_picture() -> None:
    """Its pixels, and whether a point or another place is on the same ground."""
    grey = np.arange(100, dtype=np.uint8).reshape(10, 10)
    spot = Spot(2, 3, 4, 5)

    assert spot.crop(grey).shape == (5, 4)
    assert spot.crop(grey)[0, 0] == 32
    assert spot.holds(2, 3)
    assert not spot.holds(6, 3)
    assert spot.like(Spot(2, 3, 4, 6))
    assert not spot.like(Spot(6, 3, 4, 5))
