"""`manage.py read`: what a text or a photo of a code says. Needs no database."""

import json
from argparse import ArgumentParser
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from django.core.management.base import CommandError

from inventory.codes.answer import Answer, Reading
from inventory.codes.cleaning import VIAS
from inventory.codes.errors import CodeError
from inventory.codes.known import Listed, listed, normal
from inventory.codes.plain import Profile, compile_pattern
from inventory.codes.reading import read
from inventory.management.command import OurCommand
from inventory.management.paths import Given, ToRead
from inventory.whole_file import got

LONGEST_LINE = 200_000
"""Characters of a line: a code holds 7,089, the rest is escapes."""

KEYS = {"text", "via", "context"}
LABEL_KEYS = {"pattern", "name", "symbology"}


class Command(OurCommand):
    """Read codes from text, from a file of texts, or from photos."""

    help = "Say what a code means: every reading, or why there is none."
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Take one text, one batch or some photos."""
        what = parser.add_mutually_exclusive_group(required=True)
        what.add_argument("text", nargs="?", help="the text of one code")
        what.add_argument(
            "--batch",
            metavar="FILE",
            type=ToRead,
            help='a JSON string or {"text", "via", "context"} on each line',
        )
        what.add_argument(
            "--photo", metavar="FILE", type=Given, nargs="+", help="pictures of codes"
        )
        parser.add_argument(
            "--known",
            metavar="FILE",
            type=ToRead,
            help="what the catalogue knows: a JSON string on each line",
        )
        parser.add_argument(
            "--labels",
            metavar="FILE",
            type=ToRead,
            help='how labels of makers look: {"pattern", "name", "symbology"} on each line',
        )
        parser.add_argument(
            "--via",
            choices=VIAS,
            default="",
            help="how the text came: a scanner that types, a decoded symbol, typing by hand",
        )
        parser.add_argument("--json", action="store_true", help="one JSON answer on each line")

    def handle(self, *args: Any, **options: Any) -> None:
        """Print answers; exit 1 where the one text, a photo or a file is refused."""
        texts = _texts(options["known"]) if options["known"] else ()
        known = listed(texts, tuple(_labels(options["labels"])) if options["labels"] else ())
        as_json = options["json"]
        if options["photo"]:
            self._photos(options["photo"], known, as_json)
        elif options["batch"]:
            for text, via, context in list(_questions(options["batch"], options["via"])):
                self._show(read(text, via, known, context), as_json)
        else:
            answer = read(options["text"], options["via"], known)
            self._show(answer, as_json)
            if answer.refused:
                raise CommandError(f"{answer.refused.kind}: {_shown(answer.refused.message)}")

    def _show(self, answer: Answer, as_json: bool) -> None:
        if as_json:
            self.stdout.write(json.dumps(answer.as_json()))
            return
        self.stdout.write(_shown(answer.input))
        for reading in answer.readings:
            self.stdout.write(f"  {_in_words(reading)}")
        if answer.refused:
            self.stdout.write(f"  refused, {answer.refused.kind}: {_shown(answer.refused.message)}")
            for candidate in answer.refused.candidates:
                self.stdout.write(f"    meant? {_candidate(candidate)}")

    def _photos(self, files: list[str], known: Listed, as_json: bool) -> None:
        from inventory.pictures.reading import read_file

        def names(text: str, symbology: str) -> str | None:
            return normal(text) if known.names(text) else None

        reasons = []
        for file in files:
            line = read_file(Path(file), names if known.values else None, shelf=True)
            if isinstance(refused := line["refused"], dict):
                reasons.append(f"{file}: {refused['message']}")
            self.stdout.write(json.dumps(line) if as_json else _photo_in_words(line))
        if reasons:
            raise CommandError("\n".join(reasons))


def _texts(file: str) -> Iterator[str]:
    for number, value in _json_lines(file):
        if not isinstance(value, str):
            raise _bad(file, number, "a JSON string", value)
        yield value


def _labels(file: str) -> Iterator[Profile]:
    for number, value in _json_lines(file):
        if (
            not isinstance(value, dict)
            or not isinstance(value.get("pattern"), str)
            or not all(isinstance(cell, str) for cell in value.values())
        ):
            raise _bad(file, number, '{"pattern": "..."} with texts', value)
        if extra := set(value) - LABEL_KEYS:
            keys = ", ".join(sorted(LABEL_KEYS))
            raise _bad(file, number, f"keys out of {keys}", sorted(extra)[0])
        try:
            pattern = compile_pattern(value["pattern"])
        except CodeError as error:
            raise CommandError(f"{file}, line {number}: {error.message}") from error
        name, symbology = value.get("name", value["pattern"]), value.get("symbology", "")
        yield Profile(str(name), pattern, str(symbology))


def _questions(file: str, usual: str) -> Iterator[tuple[str, str, dict[str, object]]]:
    for number, value in _json_lines(file):
        if isinstance(value, str):
            yield value, usual, {}
            continue
        if not isinstance(value, dict) or not isinstance(value.get("text"), str):
            raise _bad(file, number, 'a JSON string or {"text": "..."}', value)
        via, context = value.get("via", usual), value.get("context", {})
        if extra := set(value) - KEYS:
            raise _bad(file, number, f"keys out of {', '.join(sorted(KEYS))}", sorted(extra)[0])
        if via not in ("", *VIAS):
            raise _bad(file, number, f"via out of {', '.join(VIAS)}", via)
        if not isinstance(context, dict):
            raise _bad(file, number, "a context in braces", context)
        yield value["text"], via, context


def _json_lines(file: str) -> Iterator[tuple[int, Any]]:
    """Give (line number from 1, value); blank lines are skipped. Raises CommandError."""
    try:
        lines = Path(file).read_bytes().split(b"\n")
    except (OSError, ValueError) as fault:
        words = f"{file}: expected a file that can be read, got {got(fault)}"
        raise CommandError(words) from fault
    for number, line in enumerate(lines, start=1):
        if len(line) > LONGEST_LINE:
            raise _bad(file, number, f"at most {LONGEST_LINE} bytes", f"{len(line)} bytes")
        if not line.strip():
            continue
        try:
            yield number, json.loads(line.decode("utf-8"))
        except (ValueError, RecursionError) as fault:
            raise _bad(file, number, "JSON in UTF-8", str(fault)) from fault


def _bad(file: str, number: int, expected: str, got: object) -> CommandError:
    shown = got if isinstance(got, str) else json.dumps(got)
    return CommandError(f"{file}, line {number}: expected {expected}, got {_shown(shown[:80])}")


def _shown(text: str) -> str:
    """Return the text with what cannot be printed spelled out."""
    return text if text.isprintable() else json.dumps(text)


def _in_words(reading: Reading) -> str:
    parts = [f"{name} {value}" for name, value in reading.fields.items()]
    parts += [f"({code}) {value}" for code, value in reading.elements if not parts]
    parts += [f"warning {name}" for name in reading.warnings]
    return _shown(f"{reading.kind}: {', '.join(parts) or reading.text}")


def _candidate(candidate: str | tuple[tuple[str, str], ...]) -> str:
    if isinstance(candidate, str):
        return _shown(candidate)
    return _shown("".join(f"({code}){value}" for code, value in candidate))


def _photo_in_words(line: dict[str, Any]) -> str:
    if line["refused"]:
        return f"{line['file']}\n  refused, {line['refused']['kind']}: {line['refused']['message']}"
    rows = [
        f"  {'counts' if code['accepted'] else 'does not count'}: {_shown(code['text'])} "
        f"({code['symbology']}; {code['why']})"
        for code in line["codes"]
    ]
    return "\n".join([line["file"], *(rows or ["  no code found"]), *_unread(line["unread"])])


def _unread(places: list[dict[str, Any]]) -> list[str]:
    """What is to be scanned singly, and where on the photo it is."""
    if not places:
        return []
    many = "1 more label was seen and not read: scan it singly"
    if len(places) > 1:
        many = f"{len(places)} more labels were seen and not read: scan them singly"
    boxes = ((place["kind"], *place["box"]) for place in places)
    return [
        f"  {many}",
        *(
            f"    {kind}, {x} px from the left, {y} from the top, {w} x {h}"
            for kind, x, y, w, h in boxes
        ),
    ]
