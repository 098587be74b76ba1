"""JSON Schemas of a configuration and of a kit, as `manage.py kit --schema` prints them."""

from typing import Final

from kitting.plan.axes import Axis
from kitting.plan.family import Family
from kitting.plan.site import UNKNOWN
from kitting.plan.steps import JOBS

DRAFT: Final = "https://json-schema.org/draft/2020-12/schema"
Json = dict[str, object]

TEXT: Final[Json] = {"type": "string"}
TEXTS: Final[Json] = {"type": "array", "items": TEXT}


def _closed(properties: Json) -> Json:
    return {
        "type": "object",
        "properties": properties,
        "required": list(properties),
        "additionalProperties": False,
    }


def _list(of: Json) -> Json:
    return {"type": "array", "items": of}


ALTERNATIVE: Final = _closed(
    {"question": TEXT, "answer": TEXT, "quantity": {"type": "integer", "minimum": 0}}
)
REASON: Final = _closed(
    {
        **dict.fromkeys(("need", "rule", "arithmetic", "source", "place", "by"), TEXT),
        "quantity": {"type": "integer", "minimum": 0},
    }
)
LINE: Final = _closed(
    {
        "item": TEXT,
        "name": TEXT,
        "tracking": TEXT,
        "quantity": {"type": "integer", "minimum": 1},
        "unit": {"enum": ["piece", "mm", "ul", "mm2"]},
        "step": TEXT,
        "reasons": {"type": "array", "items": REASON, "minItems": 1},
        "pieces": _list({"type": "integer", "minimum": 1}),
        "alternatives": _list(ALTERNATIVE),
    }
)
ANSWER: Final = _closed({"answer": TEXT, "lines": _list(LINE), "refused": TEXTS, "also": TEXTS})
QUESTION: Final = _closed(
    {"axis": TEXT, "question": TEXT, "needs": TEXTS, "answers": _list(ANSWER), "first": TEXTS}
)
TASK: Final = _closed({"step": TEXT, "words": TEXT, "need": TEXT, "rule": TEXT, "place": TEXT})
MOVE: Final = _closed(
    {"item": TEXT, "quantity": {"type": "integer"}, "from_place": TEXT, "to_place": TEXT}
)
PERCENT: Final[Json] = {"type": "integer", "minimum": 0, "maximum": 100}
CHARGE: Final = _closed({"match_percent": PERCENT, "low": PERCENT, "high": PERCENT})
PLACE: Final = _closed({name: {"type": "integer", "minimum": 1} for name in ("stack", "level")})
KIT: Final[Json] = {
    "$schema": DRAFT,
    "title": "kit",
    **_closed(
        {
            "lines": _list(LINE),
            "cautions": _list(_closed({"key": TEXT, "step": TEXT, "words": TEXT, "decides": TEXT})),
            "tasks": _list(TASK),
            "unresolved": _list(QUESTION),
            "refused": _list(_closed({"rule": TEXT, "message": TEXT})),
            "comes_back": _list(LINE),
            "renewed": _list(LINE),
            "moves": _list(MOVE),
            "taken_both": _list(QUESTION),
            "charge": {"anyOf": [{"type": "null"}, CHARGE]},
            "answered": _list(_closed({"need": TEXT, "of": TEXT, "rule": TEXT, "why": TEXT})),
        }
    ),
}


NUMBER: Final[Json] = {"type": "integer", "minimum": 0}
PART: Final = _closed(
    {
        **dict.fromkeys(("need", "of", "rule", "way", "source", "sentence"), TEXT),
        "quantity": NUMBER,
        "times": NUMBER,
        "places": TEXTS,
        "once": {"type": "boolean"},
        "rests_on": _list(_closed({"question": TEXT, "answer": TEXT})),
        "by": TEXTS,
    }
)
AT_STEP: Final = _closed(
    {
        **dict.fromkeys(("step", "title", "sum"), TEXT),
        "quantity": NUMBER,
        "parts": _list(PART),
        "alternatives": _list(ALTERNATIVE),
    }
)
WHY: Final[Json] = {
    "$schema": DRAFT,
    "title": "why",
    **_closed(
        {
            **dict.fromkeys(("item", "name", "answer", "sum"), TEXT),
            "unit": {"enum": ["piece", "mm", "ul", "mm2"]},
            "quantity": NUMBER,
            "steps": _list(AT_STEP),
            "boxes": _list(_closed({"item": TEXT, "name": TEXT, "quantity": NUMBER})),
            "chain": _list({"$ref": "#"}),
            "missing": TEXTS,
        }
    ),
}


def configuration(family: Family | None) -> Json:
    """The schema of a configuration; of one family where it is given."""
    stack: Json = {"type": "integer", "minimum": 1}
    stacks: Json = {"type": "array", "minItems": 1}
    axes: Json = {}
    if family is not None:
        stack = {
            "type": "integer",
            "minimum": family.bounds.modules[0],
            "maximum": family.bounds.modules[1],
        }
        least, most = family.bounds.stacks
        stacks = {"type": "array", "minItems": least, "maxItems": most}
        axes = {axis.name: _axis(axis) for axis in family.axes.values()}
    stacks["items"] = {
        "type": "object",
        "properties": {"modules": stack, "revisions": TEXTS},
        "required": ["modules"],
        "additionalProperties": False,
    }
    before: Json = {"type": "object", "properties": {"stacks": stacks, **axes}}
    return {
        "$schema": DRAFT,
        "title": "configuration",
        "type": "object",
        "properties": {
            "family": TEXT if family is None else {"const": family.name},
            "job": {"enum": list(JOBS)},
            "stacks": stacks,
            "before": {**before, "required": ["stacks"]},
            "swap": {"type": "array", "items": PLACE, "minItems": 1},
            "take_both": TEXTS,
            **axes,
        },
        "required": ["family", "stacks"],
        "additionalProperties": family is None,
    }


def _axis(axis: Axis) -> Json:
    if axis.kind == "choice":
        return {"enum": [*axis.values, *([UNKNOWN] if axis.unknown else [])]}
    number: Json = {"type": "integer", "minimum": axis.low, "maximum": axis.high}
    if axis.unknown:
        return {"description": axis.question, "anyOf": [number, {"const": UNKNOWN}]}
    return {"description": axis.question, **number}
