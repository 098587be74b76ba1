"""Tables of a family file as text; what `family.parse` reads again."""

import json
import re
from collections.abc import Mapping, Sequence

Value = str | int | bool | Sequence["Value"] | Mapping[str, "Value"]

_BARE = re.compile(r"[A-Za-z0-9_-]+")


def table(name: str, keys: Mapping[str, Value], *, many: bool = True) -> str:
    """One table; `many`: one of a list of tables of that name. Empty texts and lists are left out.

    >>> print(table("rule", {"name": "R1", "of": "", "gives": {"M6": 4}}), end="")
    [[rule]]
    name = "R1"
    gives = { M6 = 4 }
    """
    head = f"[[{name}]]" if many else f"[{name}]"
    rows = [f"{_key(key)} = {value(one)}" for key, one in keys.items() if one not in ("", [], {})]
    return "\n".join([head, *rows, ""])


def value(one: Value) -> str:
    """One value on one line.

    >>> value([{"modules": 2, "gives": {"a b": 1}}]), value(True)
    ('[{ modules = 2, gives = { "a b" = 1 } }]', 'true')
    """
    if isinstance(one, bool):
        return "true" if one else "false"
    if isinstance(one, int):
        return str(one)
    if isinstance(one, str):
        # A JSON string is a TOML string, but for DEL.
        return json.dumps(one, ensure_ascii=False).replace("\x7f", "\\u007f")
    if isinstance(one, Mapping):
        return (
            "{ " + ", ".join(f"{_key(key)} = {value(inner)}" for key, inner in one.items()) + " }"
        )
    return "[" + ", ".join(value(inner) for inner in one) + "]"


def _key(key: str) -> str:
    return key if _BARE.fullmatch(key) else value(key)
