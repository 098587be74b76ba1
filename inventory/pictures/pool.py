"""Some decoding processes for all threads of a server process: a photo takes one that is free.

What a photo does to its process is felt by that photo alone: the others go on, and the next
question starts a fresh process in its place.
"""

import queue
from collections.abc import Callable
from typing import Any, Final

from inventory.pictures.child import Child, Limits
from inventory.pictures.errors import AllBusy

SIZE: Final = 2
"""Processes: two photos at a time use two cores, more would only share them."""
PATIENCE: Final = 10.0
"""Seconds a photo waits for a free process."""


class Pool:
    """So many children; each is started when first needed."""

    def __init__(
        self,
        target: str,
        size: int = SIZE,
        limits: Limits | None = None,
        patience: float = PATIENCE,
    ) -> None:
        """target: `module:function`, see inventory.pictures.worker."""
        self.children = tuple(Child(target, limits) for _ in range(size))
        self.patience = patience
        # The last one back is the first out: it is warm, and the others may end themselves.
        self._free: queue.LifoQueue[Child] = queue.LifoQueue()
        for child in self.children:
            self._free.put(child)

    def ask(
        self, head: dict[str, Any], blob: bytes, more: Callable[[dict[str, Any], bytes], bool]
    ) -> None:
        """Hand one photo to a free child, see `Child.ask`. Raises ChildDied, AllBusy."""
        try:
            child = self._free.get(timeout=self.patience)
        except queue.Empty:
            raise AllBusy(
                f"expected one of {len(self.children)} decoding processes to be free within "
                f"{self.patience:g} seconds, got none"
            ) from None
        try:
            child.ask(head, blob, more)
        finally:
            self._free.put(child)

    def close(self) -> None:
        """End every process; a photo in the middle of its reading first gets its answer."""
        for child in self.children:
            child.close()
