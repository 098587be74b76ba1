"""A photo's file in, the codes on it out: the one entrance for pages, API and commands."""

import atexit
from collections.abc import Callable, Collection
from dataclasses import dataclass, field, replace
from functools import cache
from pathlib import Path
from typing import Any

from inventory.pictures.accepting import Code, Known, accept, as_known
from inventory.pictures.child import Child
from inventory.pictures.errors import AllBusy, ChildDied, PhotoRefused
from inventory.pictures.hit import Hit
from inventory.pictures.photo import MOST_BYTES, check_header
from inventory.pictures.pool import Pool
from inventory.pictures.unread import Unread, besides

TRIES = 2
"""A process can die of the photo before; a photo that ends two fresh ones is given up."""


@dataclass(frozen=True, slots=True)
class Answer:
    """What one photo gave."""

    codes: tuple[Code, ...] = ()  # those that count first
    refused: PhotoRefused | None = None  # then there are no codes
    stored: bytes = b""  # JPEG without metadata, upright; only where asked for
    size: tuple[int, int] = (0, 0)  # px of the upright picture; boxes lie in it
    steps: tuple[str, ...] = ()  # what was tried, in order
    note: str = ""  # what was left out (the second decoder), in words
    unread: tuple[Unread, ...] = ()  # labels seen and not read; only where every label is wanted

    def as_json(self, file: str) -> dict[str, object]:
        """{"file", "codes": [{"text", "symbology", "box", "accepted", "why"}], "refused", "unread":
        [{"box", "kind"}]}.
        """
        refused = self.refused and {"kind": self.refused.kind, "message": self.refused.message}
        return {
            "file": file,
            "codes": [code.as_json() for code in self.codes],
            "refused": refused,
            "unread": [one.as_json() for one in self.unread],
        }


@dataclass(frozen=True, slots=True)
class Progress:
    """How far the reading of a photo has come; see inventory.pictures.wall.SoFar for the last."""

    found: int = 0  # different texts
    round: int = 0  # 0 as long as the whole picture is looked at
    at: int = 0
    of: int = 0


Tell = Callable[[Progress], None]


@dataclass(slots=True)
class _Collector:
    """Takes the answers of the decoding process and says when there are enough."""

    known: Known | None
    looks: bool = True
    tell: Tell | None = None
    progress: Progress = Progress()
    hits: list[Hit] = field(default_factory=list)
    steps: list[str] = field(default_factory=list)
    unread: list[Unread] = field(default_factory=list)
    answer: Answer = field(default_factory=Answer)

    def more(self, head: dict[str, Any], blob: bytes) -> bool:
        if head.get("refused"):
            self.answer = Answer(refused=PhotoRefused(**head["refused"]))
            return False
        if "size" in head:
            width, height = head["size"]
            self.answer = Answer(stored=blob, size=(width, height), note=head["note"])
            self._tell(self.progress)
            return self.looks
        if "so_far" in head:
            self._tell(Progress(head["found"], *head["so_far"]))
            return True
        self.steps.append(head["step"])
        self.hits += [
            Hit(text, symbology, tuple(box), sure, head["step"])
            for text, symbology, box, sure in head["hits"]
        ]
        self.unread += [Unread(tuple(box), kind) for box, kind in head.get("unread", ())]
        self._tell(replace(self.progress, found=len({hit.text for hit in self.hits})))
        return head["joined"] or not self.enough()

    def _tell(self, progress: Progress) -> None:
        self.progress = progress
        if self.tell is not None:
            self.tell(progress)

    def enough(self) -> bool:
        """Something counts, or nothing ever can and there is something to show."""
        if self.known is None:
            return bool(self.hits)
        return any(code.accepted for code in accept(self.hits, self.known))

    def result(self) -> Answer:
        if self.answer.refused:
            return self.answer
        # A step for one label may still have read what no step for many did.
        left = tuple(besides(self.unread, self.hits))
        codes = accept(self.hits, self.known)
        return replace(self.answer, codes=codes, steps=tuple(self.steps), unread=left)


@cache
def _pool() -> Pool:
    """The processes for all photos of this server process."""
    pool = Pool("inventory.pictures.looking:look")
    atexit.register(pool.close)
    return pool


def clean_photo(data: bytes, child: Child | Pool | None = None) -> bytes:
    """Return the clean JPEG to store of a photo, without a look for codes: that takes seconds.

    Raises PhotoRefused.
    """
    check_header(data)
    answer = _asked(
        data, lambda: _Collector(None, looks=False), {"shelf": False, "keep": True}, child
    )
    if answer.refused is not None:
        raise answer.refused
    return answer.stored


def read_photo(
    data: bytes,
    known: Known | Collection[str] | None = None,
    *,
    shelf: bool = False,
    keep: bool = False,
    child: Child | Pool | None = None,
    tell: Tell | None = None,
) -> Answer:
    """Read the codes on a photo; nothing is raised, a refusal is part of the answer.

    known: what a text must be exactly to count; with None or nothing in it, nothing counts.
    shelf: look for every label there is, instead of stopping at the first that counts. `known`
    is asked once for each text.
    keep: also give the clean JPEG to store. child: other processes than the usual ones.
    tell: gets the progress, from the process that reads, as it comes.
    """
    question = as_known(known)
    if question is not None:
        question = cache(question)
    try:
        check_header(data)
    except PhotoRefused as refusal:
        return Answer(refused=refusal)
    ask = {"shelf": shelf, "keep": keep}
    return _asked(data, lambda: _Collector(question, tell=tell), ask, child)


def _asked(
    data: bytes,
    collecting: Callable[[], _Collector],
    head: dict[str, bool],
    child: Child | Pool | None,
) -> Answer:
    ended = ""
    for _ in range(TRIES):
        collector = collecting()
        try:
            (child or _pool()).ask(head, data, collector.more)
            return collector.result()
        except AllBusy as fault:
            message = f"{fault}: wait a little, then send the photo again"
            return Answer(refused=PhotoRefused("busy", message))
        except ChildDied as death:
            ended = str(death)
    message = f"expected a photo that can be read, got none of it: {ended}"
    return Answer(refused=PhotoRefused("unreadable", message))


def read_file(
    path: Path, known: Known | Collection[str] | None = None, *, shelf: bool = False
) -> dict[str, object]:
    """One answer line for a file, in the shape of `Answer.as_json`."""
    try:
        with path.open("rb") as file:
            data = file.read(MOST_BYTES + 1)
    except OSError as fault:
        missing = PhotoRefused("missing", f"expected a file, got {fault.strerror}")
        return Answer(refused=missing).as_json(str(path))
    return read_photo(data, known, shelf=shelf).as_json(str(path))
