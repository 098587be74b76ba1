"""How many wrong passwords are borne from where, before whoever tries has to wait.

Two counts over the last quarter of an hour: of one name from one address, and of an address
whichever names it tries. A name is never shut everywhere: whoever guesses at it elsewhere does not
keep its person out. A name that nobody has counts as any other, so the answer tells nothing.
"""

from __future__ import annotations

import ipaddress
import math
import unicodedata
from datetime import datetime, timedelta

from django.conf import settings
from django.http import HttpRequest
from django.utils.crypto import salted_hmac

from inventory.lock import writing
from inventory.models import WrongPassword

COUNTS_FOR = timedelta(minutes=15)
OF_ONE, OF_ADDRESS = 5, 50  # a whole depot may share one address, and mistypes too
WAIT = "Too many wrong passwords from here. Try again in {0} min."


def begin(name: str, address: str, now: datetime) -> timedelta:
    """Note a try before its password is looked at; more than no time: how long to wait instead.

    Tries that come at one moment wait for each other here, so not one more is looked at. A try that
    has to wait counts for nothing: nobody keeps a person out by going on.
    """
    who, where = _keys(name, address)
    with writing():
        WrongPassword.objects.filter(at__lte=now - COUNTS_FOR).delete()
        for tries, most in (({"who": who}, OF_ONE), ({"where": where}, OF_ADDRESS)):
            times = (
                WrongPassword.objects.filter(**tries).order_by("-at").values_list("at", flat=True)
            )
            latest = list(times[:most])
            if len(latest) == most:
                return latest[-1] + COUNTS_FOR - now
        WrongPassword.objects.create(who=who, where=where, at=now)
    return timedelta()


def right(name: str, address: str) -> None:
    """The password fitted: what was mistyped before it counts no longer."""
    who, _ = _keys(name, address)
    with writing():
        WrongPassword.objects.filter(who=who).delete()


def words(wait: timedelta) -> str:
    """Say how long to wait, in whole minutes."""
    return WAIT.format(math.ceil(wait / timedelta(minutes=1)))


def address_of(request: HttpRequest) -> str:
    """Return where a request came from: of IPv6 the network, which is one household's or firm's.

    What stands before the last address in X-Forwarded-For was said by whoever asks; the last one
    is the proxy's own word, and counts only where settings say that there is one.
    """
    said = request.META.get("REMOTE_ADDR", "")
    if settings.BEHIND_PROXY:
        said = request.headers.get("X-Forwarded-For", "").rpartition(",")[2].strip() or said
    try:
        address = ipaddress.ip_address(said)
    except ValueError:
        return ""
    if address.version == 4:
        return str(address)
    if address.ipv4_mapped is not None:
        return str(address.ipv4_mapped)
    return str(ipaddress.ip_network((int(address), 64), strict=False))


def _keys(name: str, address: str) -> tuple[str, str]:
    name = unicodedata.normalize("NFKC", name).strip().casefold()
    return _hash(f"{address}\n{name}"), _hash(address)


def _hash(text: str) -> str:
    return salted_hmac("inventory.wrong_passwords", text, algorithm="sha256").hexdigest()
