"""manage.py notice FILE: what a recall letter's rule names; with --freeze set that aside."""

from __future__ import annotations

import json
import sys
from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import CommandError
from django.utils import timezone

from inventory import intake, notices
from inventory.codes.recall_rule import RuleError
from inventory.freezing import MORE
from inventory.ledger.ids import uuid7
from inventory.management.command import OurCommand
from inventory.management.paths import ToRead
from inventory.models import Device, Notice, Partner, Person, Role
from inventory.naming import rule_of, unknown_models
from inventory.notice_lists import ALL, At, DryRun, dry_run


class Command(OurCommand):
    """Without --freeze it only looks; the same letter twice is one recall."""

    help = "Show what a recall letter's rule names; with --freeze, set it aside."

    def add_arguments(self, parser: ArgumentParser) -> None:
        """The rule, which recall it belongs to, who answers for it."""
        parser.add_argument(
            "file", nargs="?", type=_rule, help="the rule as text, - for standard input"
        )
        parser.add_argument("--recall", help="code of one that is entered: its rule, or widen it")
        parser.add_argument("--letter", help="number or date of the letter, to enter it")
        parser.add_argument("--wrong", default="", help="what is wrong, in a few words")
        parser.add_argument("--partner", default="", help="code of who sent it")
        parser.add_argument("--freeze", action="store_true", help="set aside what is named")
        parser.add_argument("--by", default="", help="username of the manager who answers for it")
        parser.add_argument("--json", action="store_true", help="print one JSON object")

    def handle(self, *args: Any, **options: Any) -> None:
        """Judge, then freeze where that is asked. Raises CommandError (exit 1)."""
        notice = _known(options["recall"]) if options["recall"] else None
        text = _text(options["file"], notice)
        by = _manager(options["by"]) if options["freeze"] else None
        if by is not None:
            notice = _entered(notice, text, by, options)
        run = dry_run(notice, text, most=ALL)
        said = _freeze(notice, by) if notice is not None and by is not None else []
        if options["json"]:
            self.stdout.write(json.dumps(_as_json(run, notice, said), ensure_ascii=False))
            return
        self.stdout.write("\n".join([*_told(run), *said]))


def _rule(text: str) -> str | Path:
    return text if text == "-" else ToRead(text)


def _known(code: str) -> Notice:
    found = Notice.objects.filter(code=code, end=None).first()
    if found is None:
        raise CommandError(f"--recall: expected the code of an open recall, got {code!r}")
    return found


def _text(file: str | Path | None, notice: Notice | None) -> str:
    """The rule, which can be read and names only items of ours."""
    if file is None:
        if notice is None:
            raise CommandError("file: expected a rule's text, or --recall, got neither")
        return notices.latest_rule(notice).text
    try:
        text = sys.stdin.read() if file == "-" else Path(file).read_text(encoding="utf-8-sig")
        problems = unknown_models(rule_of(text.strip()))
    except UnicodeError:
        raise CommandError(f"{file}: expected UTF-8 text, got other bytes") from None
    except RuleError as error:
        problems = error.problems
    if problems:
        raise CommandError("\n".join(problems))
    return text.strip()


def _manager(username: str) -> Person:
    found = Person.objects.filter(username=username, is_active=True).first()
    if found is None or not found.has(Role.MANAGER):
        raise CommandError(f"--by: expected the username of a manager, got {username!r}")
    return found


def _entered(notice: Notice | None, text: str, by: Person, options: dict[str, Any]) -> Notice:
    """The recall with this rule: entered now, or widened."""
    if notice is not None:
        notices.change_rule(notice, by, text)
        return notice
    for name in ("letter", "wrong"):
        if not options[name]:
            raise CommandError(f"--{name}: expected words, for a letter that is new here, got none")
    partner = Partner.objects.filter(code=options["partner"]).first()
    if options["partner"] and partner is None:
        raise CommandError(f"--partner: expected the code of one, got {options['partner']!r}")
    told = {"letter": options["letter"], "words": options["wrong"], "partner": partner}
    return notices.enter(by, rule=text, note="", **told)


def _freeze(notice: Notice, by: Person) -> list[str]:
    """Send events until one says that no more is to go; return what each said."""
    device = Device.objects.create(person=by, label=f"Command line, recall {notice.code}")
    said: list[str] = []
    while not said or MORE in said[-1]:
        line = {
            "v": 1,
            "id": str(uuid7()),
            "device": str(device.uid),
            "seq": len(said) + 1,
            "at": timezone.now().isoformat(),
            "step": "notice_freeze",
            "subject": notice.subject,
            "kind": str(notices.latest_rule(notice).version),
        }
        (answer,) = intake.take(by, [json.dumps(line)], timezone.now())
        if answer.verdict not in ("applied", "noted", "problem"):
            raise CommandError(answer.sentence)
        said.append(answer.sentence)
    return said


def _told(run: DryRun) -> list[str]:
    lines = [f"{run.hits} named, {run.new} of them not set aside, {run.cannot_tell} cannot be told"]
    for group in run.groups:
        for at in group.places:
            lines += [f"{group.title}, {at.name}:", *_things(at)]
    for group in run.unclear:
        for at in group.places:
            lines += [f"Cannot tell, {group.title}, {at.name}:", *_things(at)]
    return lines


def _things(at: At) -> list[str]:
    """One line each; what the rule looked at of a serial stands between brackets."""
    return [
        f"  {one.item} "
        + "".join(f"[{run}]" if looked else run for run, looked in one.marks)
        + f"  row {one.row}: {one.why}"
        + (f"; was at {', '.join(one.been)}" if one.been else "")
        for one in at.seen
    ]


def _as_json(run: DryRun, notice: Notice | None, said: list[str]) -> dict[str, Any]:
    return {
        "recall": notice.code if notice else "",
        "named": run.hits,
        "new": run.new,
        "not_named_any_more": run.spared,
        "cannot_tell": run.cannot_tell,
        "hits": [one for group in run.groups for one in _rows(group.title, group.places)],
        "unclear": [one for group in run.unclear for one in _rows(group.title, group.places)],
        "frozen": said,
    }


def _rows(title: str, places: tuple[At, ...]) -> list[dict[str, Any]]:
    return [
        {
            "situation": title,
            "where": at.name,
            "item": one.item,
            "serial": "".join(run for run, _ in one.marks),
            "looked_at": [run for run, looked in one.marks if looked],
            "row": one.row,
            "why": one.why,
            "was_at": list(one.been),
        }
        for at in places
        for one in at.seen
    ]
