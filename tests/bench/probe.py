"""The sync probe: how long this disk takes to make one small write durable, right now."""

import os
import time
from pathlib import Path


def sync_ms(folder: Path, times: int = 5) -> list[float]:
    """Return milliseconds of `times` appends of 4 kB, each followed by fsync."""
    took = []
    with (folder / "probe").open("ab", buffering=0) as file:
        for _ in range(times):
            began = time.perf_counter()
            file.write(b"\0" * 4096)
            os.fsync(file.fileno())
            took.append((time.perf_counter() - began) * 1000)
    return took


def part(values: list[float], share: float) -> float:
    """Return the value below which `share` (0..1) of the values lie."""
    ordered = sorted(values)
    return ordered[min(len(ordered) - 1, int(share * len(ordered)))]
