"""What the desk types about deliveries, partners, orders, charging and a day's stock."""

import io

import pytest
from django.test import Client
from django.urls import reverse
from openpyxl import load_workbook

from inventory.models import ChargeRule, Clock, Delivery, ListedSerial, OrderLine, Partner, Place
from tests.people import Cast, note, order


@pytest.fixture
def mona(db: None, cast: Cast) -> Client:
    return cast.clients["manager"]


def words(client: Client, name: str, data: dict[str, object], *args: str) -> str:
    """The page that a wrong form comes back as."""
    answer = client.post(reverse(name, args=args), data)

    assert answer.status_code == 200
    return answer.content.decode().replace("&#x27;", "'")


def test_a_note_is_entered_and_its_serials_are_judged_whole(mona: Client, cast: Cast) -> None:
    """A spoilt line is told with its number and nothing is kept; the same file twice adds none."""
    where = mona.post(reverse("deliveries"), note(cast))["Location"]
    made = Delivery.objects.get(note="LS-2")
    assert where == reverse("delivery", args=[made.code])
    wrong = words(mona, "delivery", {"lines": "CT-MODULE;S-1\nCT-MODULE;1.2E+14"}, made.code)
    assert "line 2: expected the serial as printed, got a number '1.2E+14'" in wrong
    assert not ListedSerial.objects.exists()

    for _ in range(2):
        mona.post(where, {"lines": "CT-MODULE\tS-1\tBOX-1\nCT-MODULE\tS-2\tBOX-1"})

    assert list(ListedSerial.objects.values_list("key", "box")) == [
        ("S-1", "BOX-1"),
        ("S-2", "BOX-1"),
    ]


def test_partners_and_their_clocks_are_entered_and_changed(mona: Client) -> None:
    """A clock set again takes the place of the one before."""
    mona.post(reverse("partners"), {"code": "swift", "name": "Swift Road", "kind": "carrier"})
    swift = Partner.objects.get(code="swift")
    clock = {"partner": swift.pk, "about": "hidden", "how": "writing", "source": "CMR article 30"}
    for hours in (24, 168):
        mona.post(reverse("partners"), {**clock, "hours": hours})
    told = words(mona, "partners", {**clock, "hours": "soon"})

    assert Clock.objects.get(partner=swift).hours == 168
    assert "Within how many hours: expected a whole number, got 'soon'" in told


def test_an_order_is_entered_and_closed(mona: Client, cast: Cast) -> None:
    """It stands on the item's page until the rest will not come; another's number is not there."""
    mona.post(reverse("on_order"), order(cast))
    line = OrderLine.objects.get()
    item = reverse("stock_item", args=[line.item.code])
    assert "4 promised for 1 Dec 2026 by North Store" in mona.get(item).content.decode()
    assert mona.post(reverse("on_order"), {"close": "99999"}).status_code == 404
    mona.post(reverse("on_order"), {"close": line.pk})

    assert "promised for" not in mona.get(item).content.decode()


def test_a_rule_and_a_warmth_are_set_by_the_manager(mona: Client, cast: Cast) -> None:
    """Both on one page; nobody's warmth is a guess."""
    rule = {"item": cast.item.code, "up_to_c": 25, "days": 300, "source": "manual, page 7"}
    mona.post(reverse("charging"), rule)
    mona.post(reverse("charging"), {"place": cast.dock.code, "warmest_c": 30})

    assert ChargeRule.objects.get().days == 300
    assert Place.objects.get(pk=cast.dock.pk).warmest_c == 30
    wrong = words(mona, "charging", {**rule, "days": 0})
    assert "A charge lasts how many days: expected at least 1, got '0'" in wrong


def test_a_day_s_stock_comes_as_a_spreadsheet(mona: Client) -> None:
    """A day that is none is told; the file opens and has the three sheets."""
    file = mona.get(reverse("stock_then"), {"day": "2026-11-30", "as": "xlsx"})
    wrong = mona.get(reverse("stock_then"), {"day": "yesterday"}).content.decode()

    assert file["Content-Disposition"] == 'attachment; filename="stock-2026-11-30.xlsx"'
    assert load_workbook(io.BytesIO(file.content)).sheetnames == ["Stock", "By place", "About"]
    assert "At the end of: expected a date" in wrong
