"""On order: what was promised, less what deliveries of the supplier brought."""

from datetime import date, timedelta

from inventory import intake, ordering
from tests.firm import NOW, Firm
from tests.inventory.deliveries import begin

BRACKETS = "09521234000020"


def test_deliveries_of_the_supplier_fill_the_earliest_promise_first(shop: Firm) -> None:
    """What came before the order, from others, or was undone fills nothing; closing ends it."""
    delivery, day = begin(shop), timedelta(days=1)
    about = {"target": "DOCK", "subject": delivery.subject}
    old = shop.wanda.line("receive", BRACKETS, quantity=100, **about)
    intake.take(shop.wanda.person, [old], NOW - 2 * day)
    who = {"supplier": delivery.supplier, "item": shop.bracket, "quantity": 40}
    late, early = (
        ordering.enter(shop.mona.person, NOW - day, promised_on=date(2026, 12, on), **who)
        for on in (9, 2)
    )
    left = [still()]
    came = shop.wanda.scan("receive", BRACKETS, quantity=50, **about)
    shop.wanda.scan("receive", BRACKETS, target="DOCK", quantity=7)  # of nobody's delivery
    left.append(still())
    shop.wanda.scan("undo", reverses=came.id)
    left.append(still())
    ordering.close(early, NOW, shop.mona.person)

    both = [(early.pk, 40), (late.pk, 40)]
    assert left == [both, [(late.pk, 30)], both]
    assert still() == [(late.pk, 40)]


def still() -> list[tuple[int, int]]:
    return [(one.line.pk, one.left) for one in ordering.awaited()]
