"""What the decoding process does with one photo: check it, clean it, try step after step."""

from collections.abc import Iterator
from typing import Any

import cv2

from inventory.pictures import decoders, unread, wall
from inventory.pictures.decoding import decode
from inventory.pictures.errors import PhotoRefused
from inventory.pictures.hit import Hit
from inventory.pictures.photo import check_file
from inventory.pictures.preparing import Grey


def look(head: dict[str, Any], data: bytes) -> Iterator[tuple[dict[str, Any], bytes]]:
    """Answers for {"shelf": bool, "keep": bool} and a file's bytes, in this order:

    {"refused": {"kind", "message"}}, and that is all; or
    {"size": [width, height], "note": str} with the clean JPEG (empty unless `keep`), then
    {"step": str, "hits": [[text, symbology, [x, y, width, height], sure], ...], "joined": bool} for
    each step; joined: further steps belong to it, whatever it found. The last step of a shelf has
    also {"unread": [[[x, y, width, height], kind], ...]}: labels that were seen and not read.
    Before it, {"so_far": [round, place, places], "found": texts} after each look at a place.
    """
    cv2.setNumThreads(1)
    try:
        photo = check_file(data)
    except PhotoRefused as refusal:
        yield {"refused": {"kind": refusal.kind, "message": refusal.message}}, b""
        return
    head_out = {"size": [photo.width, photo.height], "note": decoders.zbar_note()}
    yield head_out, photo.jpeg() if head["keep"] else b""
    grey, read, so_far = photo.grey(), list[Hit](), wall.SoFar()
    for step, hits, joined in _steps(grey, head["shelf"], so_far):
        read += hits
        if step == wall.PLACE:
            come = [so_far.round, so_far.at, so_far.of]
            yield {"so_far": come, "found": len({hit.text for hit in read})}, b""
            continue
        found = [[hit.text, hit.symbology, hit.box, hit.sure] for hit in hits]
        answer: dict[str, Any] = {"step": step, "hits": found, "joined": joined}
        if step == wall.LAST:
            answer["unread"] = [[one.box, one.kind] for one in unread.unread(grey, read)]
        yield answer, b""


def _steps(grey: Grey, shelf: bool, so_far: wall.SoFar) -> Iterator[tuple[str, list[Hit], bool]]:
    """The steps of a wall, all of which belong together; then those for one label."""
    if shelf:
        for step, hits in wall.read(grey, so_far=so_far):
            yield step, hits, step != wall.LAST
    for step, hits in decode(grey):
        yield step, hits, False
