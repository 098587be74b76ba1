"""A full parcel: the next one takes the bags that are still empty, and loads by itself."""

from inventory.models import Place
from kitting import parcels
from kitting.models import Kit, Package
from tests.kitting.yard import Yard, about


def numbered(kit: Kit, number: int) -> Place:
    return Package.objects.get(kit=kit, kind="parcel", number=number).place


def test_what_is_packed_after_goes_into_the_next_parcel(yard: Yard, kit: Kit) -> None:
    """Its bags lie in two parcels, each loaded by one scan of its own."""
    early = yard.wanda.scan("parcel_full", **about(kit))
    assert (early.verdict, early.sentence) == ("stopped", "Parcel 1 is empty by the book.")
    yard.shelve("CT-BRACKET", 2)
    yard.wanda.scan("pick", "CT-BRACKET", quantity=2, **about(kit))
    bags = set(parcels.bags_in(numbered(kit, 1)))
    done = yard.wanda.scan("parcel_full", **about(kit))

    assert done.sentence == "Parcel 1 is full. Parcel 2 is next: print its label."
    first, second = (set(parcels.bags_in(numbered(kit, n))) for n in (1, 2))
    assert (len(first), first | second) == (1, bags)
    assert parcels.newest(kit) == numbered(kit, 2)
    for number in (1, 2):
        loaded = yard.wanda.scan("load", numbered(kit, number).code, **about(kit))
        assert loaded.verdict == "applied", loaded.sentence
    assert "has left the bench" in yard.wanda.scan("parcel_full", **about(kit)).sentence


def test_undone_it_leaves_one_parcel_in_use(yard: Yard, kit: Kit) -> None:
    """The bags are back; said again, the parcel that was begun serves."""
    yard.shelve("CT-BRACKET", 2)
    yard.wanda.scan("pick", "CT-BRACKET", quantity=2, **about(kit))
    bags = parcels.bags_in(numbered(kit, 1))
    done = yard.wanda.scan("parcel_full", **about(kit))
    yard.wanda.scan("undo", reverses=done.id, **about(kit))

    assert parcels.bags_in(numbered(kit, 1)) == bags
    assert parcels.newest(kit) == numbered(kit, 1)
    assert yard.wanda.scan("parcel_full", **about(kit)).verdict == "applied"
    assert Package.objects.filter(kit=kit, kind="parcel").count() == 2
