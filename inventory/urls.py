"""Addresses of the lower house: stock, scanning, labels, and the event intake."""

from django.urls import URLPattern, URLResolver, path, register_converter

from inventory import api, api_phones
from inventory.views import (
    bringing,
    charging,
    claims,
    counting,
    deliveries,
    installing,
    items,
    labels,
    notices,
    orders,
    people,
    photos,
    places,
    printing,
    problems,
    receiving,
    returns,
    scanners,
    second_factor,
    session,
    stock,
    trace,
)


class Sha256:
    """64 hexadecimal digits in an address."""

    regex = "[0-9a-f]{64}"

    def to_python(self, value: str) -> str:
        """As it stands."""
        return value

    def to_url(self, value: str) -> str:
        """As it stands."""
        return value


register_converter(Sha256, "sha256")

urlpatterns: list[URLPattern | URLResolver] = [
    path("sign-in", session.sign_in, name="sign_in"),
    path("sign-in/code", second_factor.sign_in_code, name="sign_in_code"),
    path("sign-out", session.sign_out, name="sign_out"),
    path("my/own/sign-in", session.own_sign_in, name="own_sign_in"),
    path("my/own/second-factor", second_factor.own_second_factor, name="own_second_factor"),
    path("app.webmanifest", installing.manifest, name="manifest"),
    path("worker.js", installing.worker, name="worker"),
    path("no-signal", installing.no_signal, name="no_signal"),
    path("stock/", stock.stock, name="stock"),
    path("stock/<str:code>/", stock.stock_item, name="stock_item"),
    path("stock/<str:code>/trend", stock.stock_trend, name="stock_trend"),
    path("items/new", items.item_new, name="item_new"),
    path("items/<str:code>/", items.item_change, name="item_change"),
    path("places/", places.places, name="places"),
    path("places/<str:code>/", places.place_change, name="place_change"),
    path("people/", people.people, name="people"),
    path("people/<uuid:uid>/", people.person_change, name="person_change"),
    path("goods-in/", receiving.goods_in, name="goods_in"),
    path("deliveries/", deliveries.delivery_index, name="deliveries"),
    path("deliveries/<str:code>/", deliveries.delivery, name="delivery"),
    path("deliveries/<str:code>/photo", photos.delivery_photo, name="delivery_photo"),
    path("counting/", counting.counting, name="counting"),
    path("pieces/", counting.pieces, name="pieces"),
    path("charging/", charging.charging, name="charging"),
    path("claims/", claims.claims, name="claims"),
    path("claims/<str:code>/", claims.claim, name="claim"),
    path("returns/<str:code>/", returns.back, name="return"),
    path("recalls/", notices.notice_index, name="notices"),
    path("recalls/<str:code>/", notices.notice, name="notice"),
    path("call-list/", notices.call_list, name="call_list"),
    path("on-order/", orders.on_order, name="on_order"),
    path("stock-on/", orders.stock_then, name="stock_then"),
    path("partners/", deliveries.partners, name="partners"),
    path("put-away/", receiving.put_away, name="put_away"),
    path("bring-in/", bringing.bring_in, name="bring_in"),
    path("hand-out/<str:kind>.<str:ending>", bringing.table_out, name="table_out"),
    path("bring-in/<str:brought>/", bringing.brought_file, name="brought_file"),
    path("labels/", labels.labels, name="labels"),
    path("scanner/", scanners.scanner, name="scanner"),
    path("scanner/code-<int:number>.png", scanners.scanner_code, name="scanner_code"),
    path("scanner/sheet.pdf", scanners.scanner_sheet, name="scanner_sheet"),
    path("badge/<str:badge>", scanners.badge_holds, name="badge_holds"),
    path("wall-sheet.pdf", labels.wall_sheet, name="wall_sheet"),
    path("printing/", printing.printing, name="printing"),
    path("printers/", printing.printers, name="printers"),
    path("problems/", problems.problems, name="problems"),
    path("trace/", trace.trace, name="trace"),
    path("photo/", photos.photo, name="photo"),
    path("photo-progress/", photos.photo_progress, name="photo_progress"),
    path("shelf-photo/", photos.shelf_photo, name="shelf_photo"),
    path("photos/<sha256:sha256>", photos.photo_file, name="photo_file"),
    path("api/events", api.api_events, name="api_events"),
    path("api/devices", api.api_devices, name="api_devices"),
    path("api/photos", api.api_photos, name="api_photos"),
    path("api/photos/<sha256:sha256>", api_phones.api_photo_piece, name="api_photo_piece"),
    path("api/signed-in", api_phones.api_signed_in, name="api_signed_in"),
    path("api/notes", api.api_notes, name="api_notes"),
    path("api/read", api.api_read, name="api_read"),
]
