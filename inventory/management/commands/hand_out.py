"""Hand out what others are to read: a proof of one serial, events in an open standard, a claim."""

import json
from argparse import ArgumentParser
from collections.abc import Iterable
from datetime import UTC, datetime
from functools import partial
from pathlib import Path
from tempfile import TemporaryFile
from typing import Any

from django.core.management.base import CommandError

from inventory import claim_files, handing_out
from inventory.bringing.kinds import KINDS
from inventory.claim_needs import missing
from inventory.codes.epcis import faults_of
from inventory.epcis_events import document, told
from inventory.handing_out import NoTable
from inventory.incoming.texts import MARKS
from inventory.incoming.values import MARKS as DECIMALS
from inventory.ledger import check_proof
from inventory.management.command import OurCommand
from inventory.management.paths import Given, ToWrite
from inventory.models import Event
from inventory.proving import NoProof, proof_of, typed_words
from inventory.scanning import resolve
from inventory.tracing import chain, seekable
from inventory.whole_file import got, write_whole
from inventory.words import counted


class Command(OurCommand):
    """Write a file for somebody outside; each kind is a word of its own."""

    help = "Hand out a file for somebody outside."

    def add_arguments(self, parser: ArgumentParser) -> None:
        """One kind and what it asks."""
        kinds = parser.add_subparsers(dest="what", required=True, metavar="KIND")
        proof = kinds.add_parser("proof", help="one serial's record, for a third party to check")
        proof.add_argument("serial", help="a serial or the text of its label")
        proof.add_argument("--since", type=int, action="append", default=[], metavar="SIZE")
        proof.add_argument(
            "--checker", type=ToWrite, help="write the script that checks it here too"
        )
        events = kinds.add_parser("events", help="what happened to things, as EPCIS 2.0")
        events.add_argument("--serial", default="", help="of this thing only")
        events.add_argument("--check", nargs="+", type=Given, default=[], metavar="FILE")
        claim = kinds.add_parser("claim", help="a claim with its sheet, tables and photos, as ZIP")
        claim.add_argument("claim", metavar="CODE", help="its code, as D1-1 or C1")
        claim.add_argument("--paper", choices=("A4", "Letter"), default="A4", help="of its sheet")
        claim.add_argument("--out", type=ToWrite, required=True, help="the file to write")
        for kind in (proof, events):
            kind.add_argument("--out", type=ToWrite, help="the file to write; else standard output")
        for kind in (proof, events, claim):
            kind.add_argument("--json", action="store_true", help="say what was done as JSON")
        _tables(kinds)

    def handle(self, *args: Any, **options: Any) -> None:
        """Hand out. Raises CommandError (exit 1) with what was expected."""
        special = {"proof": self._proof, "events": self._events, "claim": self._claim}
        special.get(options["what"], self._table)(options)

    def _table(self, options: dict[str, Any]) -> None:
        try:
            found = handing_out.hand_out(
                options["what"], options["file"], options["delimiter"], options["decimal"]
            )
        except NoTable as error:
            raise CommandError(f"{options['file']}: {error}") from None
        told = {"file": str(options["file"]), "rows": found.rows, "left out": found.left_out}
        if options["json"]:
            self.stdout.write(json.dumps(told, ensure_ascii=False))
            return
        self.stdout.write(f"{options['file']}: {counted(found.rows, 'row')}")
        if found.left_out:
            self.stderr.write(f"Left out: {found.left_out}")

    def _proof(self, options: dict[str, Any]) -> None:
        try:
            raw = proof_of(options["serial"], options["since"])
        except NoProof as error:
            raise CommandError(str(error)) from None
        if options["checker"]:
            write_whole(options["checker"], [Path(check_proof.__file__).read_bytes()])
        body = json.loads(raw.partition(b"\n")[0])
        if typed := typed_words(body):
            listed = "\n".join(f"  {words}" for words in typed)
            self.stderr.write(
                "The file has words that people typed; read them before it leaves the house, there "
                f"may be names among them. Without them nothing would be proved:\n{listed}"
            )
        if self._out(options, [raw.decode()]):
            told = {name: body[name] for name in ("serial", "item", "size", "root")}
            self._told(options, told | {"entries": len(body["entries"])})

    def _events(self, options: dict[str, Any]) -> None:
        if options["check"]:
            return self._check(options)
        events, of = Event.objects.all(), None
        if options["serial"]:
            found, got = chain(options["serial"]), repr(options["serial"])
            if not found.links:
                raise CommandError(f"serial: expected one that is known here, got {got}")
            if found.cut:
                raise CommandError(f"serial: expected one whose whole chain can be told, got {got}")
            events = events.filter(uid__in={link.event for link in found.links})
            thing = resolve(seekable(options["serial"]), "hand")
            of = thing.unit or thing.lot
        with TemporaryFile("w+", encoding="utf-8", newline="") as whole:
            # Nothing is handed out before all of it is known to be right; it may be long.
            parts = 0
            try:
                for part in document(told(events, of), datetime.now(UTC)):
                    parts += bool(whole.write(part))
            except ValueError as error:
                raise CommandError(
                    f"nothing was written, the document has faults: {error}"
                ) from None
            whole.seek(0)
            if self._out(options, iter(partial(whole.read, 1 << 16), "")):
                self._told(options, {"events": parts - 1})
        return None

    def _claim(self, options: dict[str, Any]) -> None:
        try:
            claim = claim_files.claim_of(options["claim"])
        except claim_files.NoClaim as error:
            raise CommandError(str(error)) from None
        raw = claim_files.packed(claim, options["paper"])
        write_whole(options["out"], [raw])
        self._told(options, {"claim": claim.code, "bytes": len(raw), "missing": missing(claim)})

    def _check(self, options: dict[str, Any]) -> None:
        wrong = list[str]()
        for name in map(str, options["check"]):
            try:
                faults = faults_of(Path(name).read_bytes())
            except OSError as error:
                faults = [f"file: expected one that can be read, got {got(error)}"]
            wrong += [name] if faults else []
            found = {"file": name, "valid": not faults, "why": "; ".join(faults[:20])}
            plain = f"{name}: {'valid' if not faults else found['why']}"
            self.stdout.write(json.dumps(found, ensure_ascii=False) if options["json"] else plain)
        if wrong:
            many = f"{len(wrong)} of {len(options['check'])} are not EPCIS 2.0"
            raise CommandError(f"{many}: {', '.join(wrong)}")

    def _out(self, options: dict[str, Any], parts: Iterable[str]) -> bool:
        """Write a text to its file, or to standard output; say whether there is a file."""
        if options["out"] is None:
            for part in parts:
                self.stdout.write(part, ending="")
            return False
        write_whole(options["out"], (part.encode() for part in parts))
        return True

    def _told(self, options: dict[str, Any], told: dict[str, Any]) -> None:
        told = {"file": str(options["out"])} | told
        plain = "\n".join(f"{name}: {_plain(value)}" for name, value in told.items())
        self.stdout.write(json.dumps(told) if options["json"] else plain)


def _tables(kinds: Any) -> None:
    """The words of the tables: the same columns as `bring_in` takes."""
    for name in handing_out.kinds():
        table = kinds.add_parser(name, help=f"{KINDS[name].title}: a row is {KINDS[name].about}")
        table.add_argument("file", type=ToWrite, help="to write; its ending decides: .csv, .xlsx")
        table.add_argument("--delimiter", choices=sorted(MARKS.values()), default="")
        table.add_argument("--decimal", choices=sorted(DECIMALS), default="")
        table.add_argument("--json", action="store_true", help="say what was done as JSON")


def _plain(value: Any) -> str:
    return ("; ".join(value) or "nothing") if isinstance(value, list) else str(value)
