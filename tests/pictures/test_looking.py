"""The child's work answers in a fixed order."""

from inventory.pictures.looking import look
from tests.pictures.hostile import code_image, saved

DATA = saved(code_image(), "PNG")


def test_a_photo_gives_its_size_then_its_steps() -> None:
    """The clean file comes with the first answer, only where it is to be kept."""
    (head, blob), (step, _) = [answer for answer, _ in zip(look(ASK, DATA), "ab", strict=False)]

    assert head["size"] == list(code_image().size)
    assert blob == b""
    assert step["step"] == "zxing"
    assert step["hits"][0][:2] == ["LBG000007W", "DataMatrix"]
    assert next(look(ASK | {"keep": True}, DATA))[1].startswith(b"\xff\xd8")


def test_a_refusal_is_the_only_answer() -> None:
    """Kind and words, nothing after."""
    assert list(look(ASK, b"no photo")) == [
        (
            {
                "refused": {
                    "kind": "type",
                    "message": "expected a JPEG, PNG or WebP picture, got plain text",
                }
            },
            b"",
        )
    ]


ASK = {"shelf": False, "keep": False}
