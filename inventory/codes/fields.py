"""What a reading says in our words: gtin, serial, lot, expiry...

Sources: GS1 General Specifications section 3 (meanings), 3.6 (decimal point in the last digit of
an identifier of measure); ANSI MH10.8.2 by tables/data_identifiers.csv.
"""

from inventory.codes import dates
from inventory.codes.associations import Elements
from inventory.codes.errors import CodeError
from inventory.codes.identifiers import table

Fields = dict[str, str | int]

NAMES = {
    "00": "sscc",  # serial shipping container code, 18 digits
    "02": "contained_gtin",  # 14 digits
    "03": "made_to_order_gtin",
    "10": "lot",
    "20": "variant",
    "21": "serial",
    "22": "consumer_variant",
    "235": "third_party_serial",
    "240": "item_supplier",  # part number of the maker
    "241": "item_customer",  # part number of the buyer
    "250": "secondary_serial",
    "251": "source_serial",
    "254": "location_extension",  # bin or shelf
    "400": "order",
    "410": "ship_to",  # GLN, 13 digits
    "414": "location",
    "7023": "assembly",
    "8003": "returnable_asset",
    "8004": "asset",
    "8010": "component",
    "8011": "component_serial",
    "8012": "software",
    "8020": "payment_reference",
    "8200": "address",
}
COUNTS = {"30": "count", "37": "contained_count"}
DATES = {
    "11": "made",
    "12": "due",
    "13": "packed",
    "15": "best_before",
    "16": "sell_by",
    "17": "expiry",
}
MEASURES = {  # first three digits; the fourth counts decimals
    "310": "net_weight_kg",
    "311": "length_m",
    "312": "width_m",
    "313": "height_m",
    "330": "gross_weight_kg",
    "331": "load_length_m",
    "332": "load_width_m",
    "333": "load_height_m",
}


def of_elements(elements: Elements, this_year: int) -> Fields:
    """Return the fields of GS1 elements; dates as ISO, measures as decimal text, counts as int."""
    fields: Fields = {}
    for code, value in elements:
        fields.update(_of_element(code, value, this_year))
    return fields


def _of_element(code: str, value: str, this_year: int) -> Fields:
    if code == "01":
        return {"gtin": value}
    if code in NAMES:
        return {NAMES[code]: value}
    if code in COUNTS:
        return {COUNTS[code]: int(value)}
    if code in DATES:
        return {DATES[code]: dates.six_digits(value, this_year, day_zero=True)}
    if code == "8006":
        return {"gtin": value[:14], "piece": int(value[14:16]), "pieces": int(value[16:18])}
    if code in ("8008", "7003"):
        moment = f"{dates.six_digits(value[:6], this_year)}T{dates.time(value[6:])}"
        return {"made_at" if code == "8008" else "expiry_at": moment}
    if code[:3] in MEASURES and len(code) == 4:
        return {MEASURES[code[:3]]: _decimal(value, int(code[3]))}
    return {}


def _decimal(value: str, decimals: int) -> str:
    """Return six digits as a number, `001250` with 2 decimals as `12.50`."""
    if not decimals:
        return str(int(value))
    return f"{int(value[:-decimals] or '0')}.{value[-decimals:]}"


def dates_hold(elements: Elements, this_year: int) -> None:
    """Raise CodeError where a date does not exist in the century that it means."""
    for code, value in elements:
        try:
            _of_element(code, value, this_year)
        except CodeError as error:
            raise CodeError(error.kind, f"({code}) {table()[code].meaning}: {error}") from error
