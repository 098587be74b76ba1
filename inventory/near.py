"""Names of ours one slip away from a text that means nothing: for a question, never an answer."""

from __future__ import annotations

import json

from django.db import connection

from inventory.codes.known import neighbours
from inventory.rows import found

SHORTEST, LONGEST = 4, 24
"""Characters of a text that has neighbours worth asking for: people type no longer ones."""
MOST = 10

_LIST = {"postgresql": "SELECT jsonb_array_elements_text(%s::jsonb)"}
_EACH = "SELECT value FROM json_each(%s)"
_NAMED = """\
WITH wanted(name) AS ({})
SELECT serial_key FROM inventory_unit WHERE serial_key IN (SELECT name FROM wanted)
UNION SELECT "key" FROM inventory_unitalias WHERE "key" IN (SELECT name FROM wanted)
UNION SELECT "key" FROM inventory_itemcode
  WHERE NOT label_pattern AND "key" IN (SELECT name FROM wanted)
UNION SELECT code FROM inventory_place WHERE code IN (SELECT name FROM wanted)
UNION SELECT code FROM inventory_item WHERE code IN (SELECT name FROM wanted)
ORDER BY 1 LIMIT %s"""


def near_names(text: str) -> tuple[str, ...]:
    """Return serials, codes and names of places one slip away, at most ten, in order."""
    if not SHORTEST <= len(text) <= LONGEST:
        return ()
    wanted = json.dumps(sorted(neighbours(text)))
    statement = _NAMED.format(_LIST.get(connection.vendor, _EACH))
    return tuple(name for (name,) in found(statement, [wanted, MOST]))
