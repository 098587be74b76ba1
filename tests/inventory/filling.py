"""A firm of the lower house with at least one row in each table of the ledger."""

from datetime import date

from inventory import charging, label_printing, ordering, serial_lists
from inventory.badges import badge_of
from inventory.bringing import running
from inventory.bringing.kinds import KINDS
from inventory.bringing.looking import look
from inventory.deliveries import enter_list, set_need
from inventory.incoming.reading import Choices
from inventory.models import CartonContent, NoticeUnseen, Place
from inventory.returns import set_rule
from tests import firm, kept
from tests.firm import NOW, Firm, element_string
from tests.inventory import deliveries, recalls


@kept.once
def build() -> Firm:
    """Enter the firm into the empty database, and what it did."""
    shop = firm.build()
    fill(shop)
    return shop


def fill(shop: Firm) -> None:
    """Put at least one row into each guarded table."""
    module = element_string("A1")
    shop.wanda.scan("receive", "BOX-1", target="DOCK", **{"with": module})
    shop.wanda.scan("set_aside", module, reason="dented")
    shop.mona.scan("release", module)
    shop.wanda.scan("count", "09521234000020", target="BIN1", quantity=1)
    shop.wanda.scan("put", "09521234000020", start="BIN1", target="BIN2", quantity=3)
    shop.wanda.scan("count", "09521234000020", target="BIN1", kind="none")
    shop.wanda.scan("come_back", "09521234000020", start="BIN2", kind="left", quantity=1)
    shop.wanda.scan("check_back", subject="return:R1", kind="as_new", target="BIN2")
    set_rule(shop.module, reading="charge in %")
    put = shop.wanda.line("put", module, target="BIN1")
    event = shop.wanda.send(put)[0].id
    shop.wanda.scan("undo", reverses=event)
    told = {"box_of": shop.module, "item": shop.bracket, "since": date(2026, 11, 3)}
    CartonContent.objects.create(**told, quantity=4)
    for quantity in (3, 4):
        shop.wanda.scan("open_box", "BOX-1", quantity=quantity, **{"with": "BRA"})
    shop.wanda.scan("charged", module)
    delivery = deliveries.begin(shop)
    set_need(delivery.supplier, about="fault", key="log", words="Event log", source="terms")
    lines = serial_lists.judge("MOD;L1").rows
    enter_list(delivery, lines)
    about = {"subject": delivery.subject}
    counted = shop.wanda.scan("count_boxes", quantity=1, **about)
    promised = {"supplier": delivery.supplier, "item": shop.bracket, "quantity": 4}
    ordering.enter(shop.mona.person, NOW, **promised, promised_on=date(2026, 12, 1))
    limits = {"days": 180, "recharges": 2, "years": 1, "source": "manual of 1 Feb, page 3"}
    charging.set_rule(shop.module, up_to_c=25, **limits)
    shop.wanda.scan("undo", reverses=counted.id)
    text = b"place;item;quantity\nBIN3;BRA;7\n"
    mona, kind = shop.mona.person, KINDS["stock"]
    file = running.keep(kind, "stock.csv", Choices(), text, mona)
    seen = look(kind, text, "stock.csv", Choices(), None)
    running.go_on(running.begin(file, seen, change=False), mona)
    Place.objects.create(kind="van", code="VAN9", name="Van 9")
    away = shop.wanda.scan("put", module, target="VAN9")
    notice = recalls.letter(shop.mona, "prefix A1")
    recalls.freeze(shop.mona, notice)
    call, unseen = notice.calls.get(), {"item": shop.module, "words": "place 1", "why": "is MOD"}
    NoticeUnseen.objects.create(call=call, event=call.event, **unseen)
    shop.mona.scan("notice_told", subject=notice.subject, number=1, kind="told")
    shop.mona.scan("notice_end", subject=notice.subject, kind="withdrawn", reason="an error")
    shop.wanda.scan("undo", reverses=away.id, hands=badge_of(shop.mona.person))
    paper = {"layout": "roll-50x25", "dpi": 203}
    printer = label_printing.enter_printer(name="Bench", address="ipp://none/x", **paper)
    printed = label_printing.keep(mona, printer, ["BIN1"])
    label_printing.seen(printed, mona, came_out=True)
