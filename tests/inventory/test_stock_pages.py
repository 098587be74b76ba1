"""The stock pages: what is here, what stands at sites, a page at a time."""

import re

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from inventory.models import Place
from inventory.queries import latest_mark
from tests.firm import Firm, element_string

BRACKETS = "09521234000020"


def rows(client: Client, address: str) -> list[str]:
    """The text of each row of a page's first table, blanks folded."""
    table = client.get(address).content.decode().split("<tbody>")[1].split("</tbody>")[0]
    return [row.split("</tr>")[0] for row in table.split("<tr>")[1:]]


def test_stock_is_what_lies_in_our_places(
    shop: Firm, client: Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Not what stands at a site, not what has left again; each list has a link for its rest."""
    site = Place.objects.create(kind="site", code="SITE1", name="Elm Street 4")
    for serial in ("A1", "A2", "A3"):
        shop.wanda.scan("receive", element_string(serial), target="DOCK")
    shop.wanda.scan("put", "A1", target="BIN1")
    shop.wanda.scan("put", "A2", target="VAN1")
    for target in ("BIN1", "BIN2"):
        shop.wanda.scan("receive", BRACKETS, target=target, quantity=40)
    shop.wanda.scan("put", "A3", target=site.code)
    client.force_login(shop.wanda.person)

    [module] = [row for row in rows(client, "/stock/") if ">Module<" in row]
    [bracket] = [row for row in rows(client, "/stock/") if ">Bracket<" in row]
    assert ('"Places">2<' in module, "<strong>2</strong>" in module) == (True, True)
    assert ('"Places">2<' in bracket, "<strong>80</strong>" in bracket) == (True, True)

    code = module.split("/stock/")[1].split("/")[0]
    assert [("Bin 1" in row, "Van 1" in row) for row in rows(client, f"/stock/{code}/")] == [
        (False, True),
        (True, False),
    ]
    [there] = rows(client, f"/stock/{code}/?sites")
    assert "Elm Street 4" in there

    monkeypatch.setattr("inventory.views.stock.PAGE", 1)
    text = client.get(f"/stock/{code}/").content.decode()
    assert 'href="?places=2"' in text
    [second] = rows(client, f"/stock/{code}/?places=2")
    assert "Bin 1" in second
    with CaptureQueriesContext(connection) as asked:
        client.get("/stock/")
    assert sum("inventory_holding" in one["sql"] for one in asked) == 1, "however many items"


def test_a_count_is_blind(shop: Firm, client: Client) -> None:
    """The page says what to look for at a place, never how many; nor does what it asks for."""
    shop.wanda.scan("count", BRACKETS, target="BIN1", quantity=8437)
    shop.wanda.scan("put", BRACKETS, start="BIN1", target="VAN1", quantity=8439)
    shop.wanda.scan("receive", BRACKETS, target="BIN1", quantity=8437)
    client.force_login(shop.wanda.person)
    page = client.get("/counting/?at=BIN1").content.decode()
    mark = "{size}:{root}".format(**latest_mark())
    page, noted = page.replace(f'since="{mark}"', ""), page.count(f'since="{mark}"')

    assert noted == 1, "what the server had as the page was drawn goes with each count"
    assert page.count("Bracket") == 2, "asked for, and to look for"
    assert not {"8437", "8439", "8435"} & set(re.findall("[0-9]+", page))
