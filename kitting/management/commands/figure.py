"""`manage.py figure NAME INPUTS.json`: one published figure with unit, source and edition, from the
functions that the kit uses. Needs no database."""

import json
from argparse import ArgumentParser
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from django.core.management.base import CommandError

from inventory.management.command import OurCommand
from inventory.management.paths import ToRead
from kitting.management.commands.kit import read_json, read_text
from kitting.plan import figure
from kitting.plan.inputs import Kind, Wrong, fields, shown, text

ANYTHING = Kind("anything", lambda value: value)


class Command(OurCommand):
    """Prints one figure, or one JSON answer a line for a file of questions; exits 1 where one is
    refused, after answering all."""

    help = "Works out a published figure."
    requires_system_checks = []

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("name", nargs="?", help="the figure, as cond.vdrop")
        parser.add_argument("inputs", nargs="?", type=ToRead, help="its inputs (JSON file)")
        parser.add_argument("--json", action="store_true", help="the answer as JSON")
        parser.add_argument(
            "--batch", type=ToRead, help='file of lines {"figure": NAME, "inputs": {...}}'
        )

    def handle(self, *args: object, **options: object) -> None:
        name, inputs, batch = options["name"], options["inputs"], options["batch"]
        if batch:
            if name:
                raise CommandError(f"expected --batch FILE alone, got {shown(name)} too")
            self._answer_all(Path(str(batch)))
        elif not name or not inputs:
            raise CommandError("expected NAME INPUTS.json or --batch FILE, got neither")
        else:
            self._answer(str(name), Path(str(inputs)), bool(options["json"]))

    def _answer(self, name: str, path: Path, as_json: bool) -> None:
        inputs = read_json(path)
        try:
            answer = figure.ask(name, inputs)
        except Wrong as error:
            raise CommandError(str(error)) from error
        assert isinstance(inputs, dict), "expected what was answered to be an object"
        others = figure.also(name, inputs)
        self.stdout.write(
            json.dumps(as_data(answer, others)) if as_json else told(name, answer, others)
        )

    def _answer_all(self, path: Path) -> None:
        lines = [line for line in read_text(path).splitlines() if line.strip()]
        answers = [answer_line(line) for line in lines]
        for answer in answers:
            self.stdout.write(json.dumps(answer))
        refused = sum("error" in answer for answer in answers)
        if refused:
            raise CommandError(f"{refused} of {len(answers)} lines refused")


def answer_line(line: str) -> dict[str, Any]:
    """The answer to one line of a batch; {"error": ...} where it is refused."""
    try:
        data = json.loads(line)
        name, inputs = fields({"figure": text, "inputs": ANYTHING}).read("line", data)
        answer = figure.ask(name, inputs)
        return as_data(answer, figure.also(name, inputs))
    except Wrong as error:
        return {"error": str(error)}
    except (ValueError, RecursionError) as error:
        return {"error": f"line: expected JSON, got {shown(line)} ({error})"}


def as_data(answer: figure.Answer, others: Mapping[str, figure.Answer]) -> dict[str, Any]:
    """The answer as JSON; "also" only where the same name and inputs mean more than one figure."""
    also = {name: other._asdict() for name, other in others.items()}
    return {**answer._asdict(), **({"also": also} if also else {})}


def told(name: str, answer: figure.Answer, others: Mapping[str, figure.Answer]) -> str:
    """The answer in lines that a person reads, with who decides."""
    value = answer.value
    several = isinstance(value, dict)
    lines = [f"{key}: {_plain(one)}" for key, one in value.items()] if several else [_plain(value)]
    caution = figure.caution(name)
    return "\n".join(
        [
            *lines,
            f"unit: {answer.unit}",
            f"source: {answer.source}",
            f"edition: {answer.edition}",
            *(f"also {other}: {_plain(a.value)}, {a.unit}" for other, a in others.items()),
            f"note: {caution.words}",
            f"who decides: {caution.decides}",
        ]
    )


def _plain(value: object) -> str:
    if isinstance(value, float):
        return f"{value:.6g}"
    return value if isinstance(value, str) else json.dumps(value)
