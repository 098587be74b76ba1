"""How long the family check takes: the whole check of the shipped family with the largest space."""

import time
from pathlib import Path

from kitting.plan import family, outcomes, proof
from tests.bench import probe
from tests.tree import TOP as ROOT


def figures(place: Path) -> list[str]:
    """Check the largest family once, from end to end, beside the sync probe."""
    largest = max(_shipped(), key=lambda one: outcomes.size(one, discrete=True))
    before = probe.sync_ms(place)
    # The check only computes, so its processor time is told beside the clock's: others may be busy.
    began = time.process_time()
    found = proof.check(largest)
    worked = time.process_time() - began
    assert not found.faults, found.faults[0].message
    sync = probe.part([*before, *probe.sync_ms(place)], 0.5)
    a_sync = found.evaluated / found.seconds * sync / 1000
    return [
        (
            f"- Check of {largest.name}: {found.configurations:,} configurations "
            f"({found.discrete:,} without lengths and diameters), {found.evaluated:,} worked out "
            f"in {found.seconds:.1f} s ({worked:.1f} s of a core): "
            f"{found.configurations / found.seconds:.3g} configurations/s, "
            f"{found.evaluated / found.seconds:,.0f} worked out/s, "
            f"{a_sync:.2f} in the time of one sync; sync probe median {sync:.2f} ms."
        )
    ]


def _shipped() -> list[family.Family]:
    files = sorted((ROOT / "fixtures" / "families").glob("*.toml"))
    return [family.parse(file.read_text(encoding="utf-8"), file.name) for file in files]
