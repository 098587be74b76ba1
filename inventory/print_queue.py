"""A file handed to a print queue over IPP (RFC 8010, 8011), and how it went, by CUPS' `ipptool`.

The queue is one of a CUPS server (ipp://host:631/printers/NAME) or a printer that speaks IPP
itself. The command is given a list of arguments and no shell; Debian's cups-ipp-utils has it. The
Python clients there are were looked at: pyipp 0.17.2 and aioipp 0.21.0 bring an asynchronous web
client of ten packages for two questions, pycups 2.0.4 must be compiled.
"""

from __future__ import annotations

import plistlib
import re
import shutil
import subprocess
import tempfile
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final
from xml.parsers.expat import ExpatError

COMMAND: Final = "ipptool"
PATIENCE = 8  # seconds for each answer of the queue
ADDRESS: Final = re.compile(r"ipps?://[A-Za-z0-9][A-Za-z0-9.-]*(:[0-9]{1,5})?(/[A-Za-z0-9._/-]*)?")
EXPECTED: Final = "an address such as ipp://server:631/printers/labels"
DONE, FAILED = 9, (7, 8)
"""job-state: completed; canceled, aborted. Source: RFC 8011, 5.3.7."""

_HEAD: Final = """\
GROUP operation-attributes-tag
ATTR charset attributes-charset utf-8
ATTR naturalLanguage attributes-natural-language en
ATTR uri printer-uri $uri
"""
_PRINT: Final = """\
{ NAME "Print" OPERATION Print-Job
%(head)sATTR name requesting-user-name lastbolt
ATTR name job-name $title
ATTR mimeMediaType document-format application/pdf
GROUP job-attributes-tag
ATTR keyword print-scaling none
ATTR keyword sides one-sided
%(paper)sFILE $filename
}
"""
_ASK: Final = """\
{ NAME "Ask" OPERATION Get-Job-Attributes
%(head)sATTR integer job-id %(number)d
ATTR keyword requested-attributes job-state,job-state-reasons,job-state-message
}
"""


class QueueError(Exception):
    """Either of the two below; the message says what the queue or the command said."""


class NotPrinted(QueueError):
    """The queue did not take the file: nothing comes out."""


class Unclear(QueueError):
    """No answer that can be read: it may come out or not."""


@dataclass(frozen=True, slots=True)
class Told:
    """What a queue says of a job."""

    ended: bool
    printed: bool  # where it ended
    words: str


def there() -> bool:
    """Whether this machine has the command."""
    return shutil.which(COMMAND) is not None


def hand_over(address: str, file: bytes, title: str, paper: str = "") -> int:
    """Hand a PDF to a queue in its true size; the number of the job there.

    paper: as PWG 5101.1 names it, "" where the printer knows its roll. Raises NotPrinted, Unclear.
    """
    line = f"ATTR keyword media {paper}\n" if paper else ""
    asked = _PRINT % {"head": _HEAD, "paper": line}
    answer = _asked(address, asked, file=file, title=title)
    number = answer.get("job-id")
    if not isinstance(number, int):
        raise Unclear("expected the number of the job, got none")
    return number


def how_it_went(address: str, number: int) -> Told:
    """Ask a queue about a job. Raises NotPrinted where it knows none of this number, Unclear."""
    answer = _asked(address, _ASK % {"head": _HEAD, "number": number})
    state, reasons = answer.get("job-state"), answer.get("job-state-reasons", "")
    reasons = ", ".join(reasons) if isinstance(reasons, list) else str(reasons)
    said = str(answer.get("job-state-message", ""))
    words = " ".join(filter(None, (said, f"({reasons})" if reasons not in ("", "none") else "")))
    return Told(state in (DONE, *FAILED), state == DONE, words[:300])


def _asked(address: str, asked: str, *, file: bytes = b"", title: str = "") -> dict[str, Any]:
    """The attributes of the answer to one request."""
    if not ADDRESS.fullmatch(address):
        raise NotPrinted(f"expected {EXPECTED}, got {address[:100]!r}")
    program = shutil.which(COMMAND)
    if program is None:
        raise NotPrinted(f"expected the command {COMMAND} (Debian: cups-ipp-utils), got none")
    with tempfile.TemporaryDirectory(prefix="lastbolt-print-") as folder:
        request, content = Path(folder, "request"), Path(folder, "labels.pdf")
        request.write_text(asked, encoding="ascii")
        content.write_bytes(file)
        arguments = ["-X", "-T", str(PATIENCE), "-d", f"title={title}", "-f", str(content)]
        try:
            ran = subprocess.run(  # noqa: S603  # a list, no shell; the address was matched
                [program, *arguments, address, str(request)],
                capture_output=True,
                stdin=subprocess.DEVNULL,
                timeout=4 * PATIENCE,
                check=False,
            )
        except subprocess.TimeoutExpired:
            raise Unclear(f"no answer within {4 * PATIENCE} seconds") from None
        except OSError as fault:
            raise NotPrinted(f"{COMMAND} does not start: {fault}") from fault
    return _answer(ran.stdout)


def _answer(output: bytes) -> dict[str, Any]:
    try:
        told = plistlib.loads(output)
        tests = list(told["Tests"])
    except (ExpatError, ValueError, KeyError, TypeError, AttributeError) as fault:
        raise Unclear(f"{COMMAND} gave no answer that can be read: {fault}") from None
    if not tests:
        # It never got so far as to ask.
        raise NotPrinted(str(told.get("ErrorMessage") or "the queue cannot be reached"))
    status = str(tests[0].get("StatusCode", ""))
    groups = tests[0].get("ResponseAttributes", [])
    answer = {key: value for group in groups for key, value in dict(group).items()}
    # Every answer of a queue begins so (RFC 8011, 4.1.4.2); without one the command makes up a
    # status of its own, "successful-ok" too (measured with a port that never answers).
    if "attributes-charset" not in answer:
        raise Unclear("; ".join(map(str, tests[0].get("Errors", []))) or "no answer of a queue")
    if not status.startswith("successful-ok"):
        raise NotPrinted(" ".join(filter(None, (status, str(answer.get("status-message", ""))))))
    return answer
