"""Sheet material: width x height x (1 + waste), rounded up once."""

import pytest

from tests.plan.small import counted, thing

BOARD = [thing("board", unit="mm2")]


@pytest.mark.parametrize(
    ("modules", "number", "waste", "wanted"),
    [
        (4, 1, 0, 1638000),  # 900 x (460 + 340 x 4)
        (4, 2, 0, 3276000),
        (1, 1, 7, 770400),  # 900 x 800 x 1.07
    ],
)
def test_a_board_is_a_rectangle(modules, number, waste, wanted):
    """The height may grow with the stack."""
    rule = 'item = "board"\nwidth = 900\nheight = { fixed = 460, modules = 340 }\n'

    rule += f"waste = {waste}"

    assert counted("area", rule, BOARD, number=number, modules=modules)[0] == {"board": wanted}
