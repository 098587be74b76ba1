"""Six vans before seven: one walk for all their kits, then each van loaded with a scan a piece."""

from collections import defaultdict
from datetime import UTC, datetime

import pytest

from inventory.models import Item
from inventory.placing import make
from kitting import packing, together
from kitting.models import Kit
from kitting.progress import fold
from kitting.queries import left_of
from tests.counts import counts
from tests.kitting import yard as yards
from tests.kitting.yard import CONFIGURATION, DAY, Yard
from tests.stories.counting_hands import Hands

pytestmark = pytest.mark.django_db
SIX = 6
VANS = counts(2, SIX)  # a scan costs the machine as much as the hand saves: fewer by default
HOUR = 3600  # seconds from six to seven


@pytest.fixture
def yard(settings) -> Yard:
    """A firm with an article number on each thing, and six kits for six vans."""
    settings.KIT_CHANCE = 0
    return yards.build()


def release(yard: Yard, number: int) -> Kit:
    van = make("van", f"Van {number + 2}")
    job = packing.plan_job(
        by=yard.mona.person,
        site=yard.site,
        date=DAY,
        configuration={**CONFIGURATION, "stacks": [{"modules": 1 + number % 2}]},
        van=van,
        crew=[yard.tariq.person],
        leaves_at=datetime(2026, 11, 26, 7, number, tzinfo=UTC),
    )
    return yard.kit(job)


def stock(yard: Yard, kits: list[Kit]) -> None:
    """As much on the shelves as these kits take, spread over three bins."""
    needs: dict[Item, int] = defaultdict(int)
    for kit in kits:
        for total in fold(kit).totals.values():
            needs[total.item] += total.to_pick
    for number, (item, needed) in enumerate(sorted(needs.items(), key=lambda one: one[0].code)):
        bin_ = yard.firm.bins[number % 3]
        if item.tracking == "serial":
            for one in range(needed):
                yard.box(f"{item.code[3:]}-{one:04}", item.code, bin_)
        elif item.unit == "mm":
            yard.shelve(item.code, 10 * needed, bin_)  # a reel: each piece comes from it whole
        elif needed:
            yard.shelve(item.code, needed, bin_)


def label(line: together.Line, serial: str = "") -> str:
    """What is scanned of a line: the box of a thing, else the item's code."""
    return f"BOX-{serial}" if serial else line.item.code


def pick_all(hands: Hands, kits: list[Kit]) -> tuple[int, int]:
    """Walk the page from its first line to its last; return how many lines and shares it had."""
    parcels = {kit.pk: kit.packages.get(kind="parcel").place.code for kit in kits}
    bays = {kit.pk: kit.packages.get(kind="bay").place.code for kit in kits}
    lines = shares = 0
    for line in together.walk(kits).lines:
        lines += 1
        home = bays if line.heavy else parcels
        if line.item.tracking == "serial":
            for share in line.split:
                shares += len(share.serials)
                for serial in share.serials:
                    hands.page.walk = [one for one in hands.page.walk if one.split]
                    again = next(o for o in hands.page.walk if f"BOX-{serial}" in o.keys)
                    told = dict(again.split)
                    (verdict,) = hands.into(label(line, serial), home[share.kit.pk])
                    again.split = told
                    assert verdict == "applied", hands.said
        else:
            shares += len(line.shares)
            verdicts = hands.into(label(line), *(home[s.kit.pk] for s in line.split))
            assert set(verdicts) == {"applied"}, (line.item.code, hands.said)
    return lines, shares


def test_six_kits_are_picked_in_one_walk_and_loaded_before_seven(yard: Yard) -> None:
    """One touch, nothing typed: a scan for each thing and each box, then one for each piece."""
    kits = [release(yard, number) for number in range(VANS)]
    stock(yard, kits)
    hands = Hands(yard.wanda.person).begin("/kits/")
    hands.follow(f"All {VANS} of Thursday 26 November in one walk")

    lines, shares = pick_all(hands, kits)

    singles = sum(p.quantity for k in kits for p in k.lines.filter(item__tracking="serial"))
    assert all(fold(kit).all_picked for kit in kits)
    assert (hands.touches, hands.typed) == (1, 0)
    assert hands.scans < lines + shares + singles
    picked = hands.seconds

    loads = 0
    for kit in kits:
        hands._load(f"/kits/{kit.code}/load")
        bays = [thing for thing in left_of(kit) if thing.place.kind != "bag"]
        texts = [thing.place.code if thing.unit else thing.item.code for thing in bays]
        for text in (kit.packages.get(kind="parcel").place.code, *texts):
            assert hands.scan(text) == "applied", hands.said
            loads += 1
        assert fold(kit).all_loaded
    assert hands.seconds - picked == 2 * loads
    assert hands.seconds * SIX / VANS < HOUR
