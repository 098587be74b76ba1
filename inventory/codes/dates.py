"""Dates inside codes.

Sources: GS1 General Specifications 3.4.2 (day 00 is the last day of the month) and 7.12
(century); ISO 8601 (weeks), ANSI MH10.8.2 (forms of the data identifiers).

>>> six_digits("260200", this_year=2026, day_zero=True)
'2026-02-28'
"""

import calendar
import datetime as dt

from inventory.codes.errors import CodeError

CENTURY = 100


def full_year(short: int, this_year: int) -> int:
    """Return the year of a two-digit year: within 49 years back and 50 years ahead of now."""
    difference = short - this_year % CENTURY
    century = this_year - this_year % CENTURY
    if difference > 50:
        return century - CENTURY + short
    if difference < -49:
        return century + CENTURY + short
    return century + short


def six_digits(text: str, this_year: int, *, day_zero: bool = False) -> str:
    """Return YYMMDD as an ISO date. Raises CodeError bad_month, bad_day."""
    year = full_year(int(text[:2]), this_year)
    return _iso(year, int(text[2:4]), int(text[4:6]), text, day_zero=day_zero)


def eight_digits(text: str) -> str:
    """Return YYYYMMDD as an ISO date. Raises CodeError bad_month, bad_day."""
    return _iso(int(text[:4]), int(text[4:6]), int(text[6:8]), text, day_zero=False)


def week(year: int, number: int) -> str:
    """Return an ISO week such as `2026-W17`. Raises CodeError bad_week."""
    last = dt.date(max(year, 1), 12, 28).isocalendar().week
    if not 1 <= number <= last:
        raise CodeError("bad_week", f"expected a week of {year} from 1 to {last}, got {number}")
    return f"{year:04}-W{number:02}"


def time(text: str) -> str:
    """Return HH[MM[SS]] as HH:MM:SS. Raises CodeError bad_time."""
    hour, minute, second = text[:2], text[2:4] or "00", text[4:6] or "00"
    if int(hour) > 23 or int(minute) > 59 or int(second) > 59:
        raise CodeError("bad_time", f"expected a time from 000000 to 235959, got {text}")
    return f"{hour}:{minute}:{second}"


def _iso(year: int, month: int, day: int, got: str, *, day_zero: bool) -> str:
    if not 1 <= month <= 12:
        raise CodeError("bad_month", f"expected a month from 01 to 12, got {got}")
    last = calendar.monthrange(max(year, 1), month)[1]
    if day == 0 and day_zero:
        day = last
    if not 1 <= day <= last or year < 1:
        raise CodeError("bad_day", f"expected a day from 01 to {last}, got {got}")
    return f"{year:04}-{month:02}-{day:02}"
