"""Several kits asked together: each has come as far as it says when it is asked alone."""

from kitting.folding import fold_each
from kitting.models import Kit
from kitting.progress import fold
from tests.kitting.yard import Yard, about


def test_together_and_alone_tell_the_same(yard: Yard) -> None:
    """One untouched, one picked, one loaded and unboxed with what is missing and damaged, one that
    is closed to nobody's van; tools, boxes, bags and lengths among their lines."""
    yard.shelve("CT-BRACKET", 40)
    yard.shelve("CT-TIE", 90)
    yard.shelve("CT-AC4", 50_000)
    kits = [yard.kit() for _ in range(4)]
    for kit in kits[1:]:
        for code in ("CT-BRACKET", "CT-TIE", "CT-AC4"):
            yard.wanda.scan("pick", code, **about(kit))
    for number, kit in enumerate(kits[2:]):
        yard.box(f"S{number}")
        for step in ("pick", "load"):
            yard.wanda.scan(step, f"BOX-S{number}", **about(kit))
        yard.wanda.scan("load", kit.packages.get(kind="parcel").place.code, **about(kit))
    yard.tariq.scan("unbox", "S0", **about(kits[2]))
    yard.tariq.scan("missing", "CT-TIE", quantity=1, **about(kits[2]))
    yard.tariq.scan("damaged", "S0", photo="d" * 64, reason="wet", **about(kits[2]))
    kits[3].job.van = None
    kits[3].job.save()
    found = list(Kit.objects.select_related("job__van", "job__site__place").order_by("pk"))
    alone = [fold(kit) for kit in found]

    assert fold_each(found) == alone
    assert fold_each(found[::-1]) == alone[::-1]
    assert fold_each([]) == []
    totals = [one.totals for one in alone]
    assert [one["CT-TIE"].picked > 0 for one in totals] == [False, True, True, True]
    assert totals[2]["CT-MODULE"].damaged == 1
    assert totals[2]["CT-TIE"].missing == 1
