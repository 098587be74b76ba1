"""Hands that walk our pages and count what it costs them: scans, touches, typed characters.

Seconds for each are assumed, not measured: 2 s, 1.5 s, 0.3 s.
"""

from __future__ import annotations

import json
import uuid
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from typing import Any
from urllib.parse import urlencode

from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.utils import timezone

from inventory.ledger.ids import uuid7
from inventory.models import Person
from kitting import ticking
from kitting.models import Kit
from tests.people import picture
from tests.stories.reading_pages import Form, Line, Page

SCAN, TOUCH, CHARACTER = 2.0, 1.5, 0.3  # seconds, assumed
START = datetime(2026, 11, 16, 6, 0, tzinfo=UTC)
WHOLE = {"quantity", "number"}


@dataclass
class Hands:
    """One person with one device in front of our pages."""

    person: Person
    client: Client = field(default_factory=Client)
    device: uuid.UUID = field(default_factory=uuid7)
    scans: int = 0
    touches: int = 0
    typed: int = 0
    said: str = ""  # the last sentence of the server
    verdict: str = ""
    _seq: int = 0
    _page: Page | None = None
    _first: str = ""  # the outer code of a pair

    def __post_init__(self) -> None:
        """Sign in and introduce the device, as the first page does by itself."""
        self.client.force_login(self.person)
        data = json.dumps({"device": str(self.device), "label": "story"})
        assert self.client.post("/api/devices", data, "application/json").status_code == 200

    @property
    def seconds(self) -> float:
        """What it took, by the assumed times."""
        return self.scans * SCAN + self.touches * TOUCH + self.typed * CHARACTER

    @property
    def page(self) -> Page:
        """The page that is open."""
        assert self._page is not None, "open a page first"
        return self._page

    def begin(self, path: str) -> Hands:
        """A page that is open already when the clock starts; all counts begin anew."""
        self._load(path)
        self.scans = self.touches = self.typed = 0
        return self

    def follow(self, words: str, about: str = "") -> None:
        """Touch the link that reads so; of several alike the one whose address has `about`."""
        found = (to for shown, to in self.page.links if words in shown and about in to)
        address = next(found, None)
        assert address is not None, f"no link {words!r} on this page"
        self.touches += 1
        self._load(address)

    def look_up(self, path: str, **typed: str) -> None:
        """Type into the fields of a page that searches, and touch its button."""
        self.touches += 1 + len(typed)
        self.typed += sum(len(text) for text in typed.values())
        self._load(f"{path}?{urlencode(typed)}")

    def unfold(self) -> None:
        """Touch a line that opens."""
        self.touches += 1

    def choose(self, name: str, value: str) -> None:
        """Touch a choice that the page offers beside its pad."""
        extras = self._extras()
        assert value in extras.offers.get(name, []), f"{name}: {value!r} is not offered"
        self.touches += 1
        extras.fields[name] = value

    def write(self, name: str, text: str) -> None:
        """Touch a field beside the pad and type into it."""
        extras = self._extras()
        assert name in extras.fields, f"no field {name!r} on this page"
        self.touches += 1
        self.typed += len(text)
        extras.fields[name] = text

    def scan(self, text: str) -> str:
        """Scan a code on the page's pad; return the verdict ("" for the first of a pair)."""
        pad, extras = self.page.pad, self.page.pad and self.page.pad.extras
        assert pad is not None, "this page has no pad to scan on"
        self.scans += 1
        for name, values in (extras.offers if extras else {}).items():
            if name == "target" and text in values:
                assert extras is not None
                extras.fields[name] = text
                return ""
        fields = dict(extras.fields) if extras else {}
        if fields.pop("pairs", ""):
            if not self._first:
                self._first = text
                return ""
            pair, self._first = (self._first, text), ""
            fields["with"], text = pair if pad.swap else pair[::-1]
        sent = {"step": pad.step, "subject": pad.subject, "text": text, "via": "keys"}
        sent["target"] = pad.target
        verdict = self._send({**sent, **fields})
        if extras:
            for name in WHOLE & extras.fields.keys():
                extras.fields[name] = ""
        return verdict

    def into(self, text: str, *labels: str) -> list[str]:
        """On a walk for several kits: scan a thing, then the label of each box it goes into."""
        assert self.page.pad is not None
        assert self.page.pad.shared, "this walk is for one kit"
        self.scans += 1
        line = next(
            one
            for one in self.page.walk
            if one.split and any(key == text or f"01{key}" in text for key in one.keys)
        )
        return [self._into_box(text, line, label) for label in labels]

    def _into_box(self, text: str, line: Line, label: str) -> str:
        """As shared-walk.js makes an event of the pair."""
        self.scans += 1
        box = self.page.boxes[label]
        quantity = line.split.pop(box.letter)
        sent = {"step": "pick", "subject": box.subject, "text": text, "via": "keys"}
        sent |= {"target": label if box.bag else "", "quantity": quantity}
        return self._send({**sent, "from": "" if line.single else line.place})

    def onto_van(self, text: str) -> str:
        """On a page that loads a van for several visits: scan what goes in now (turns.js)."""
        pad = self.page.pad
        assert pad is not None, "this page has no pad to scan on"
        self.scans += 1
        now = next(turn for turn in self.page.turns if turn.waits)
        its = next((keys for keys in now.waits if text in keys), None)
        assert its is not None, f"{text} does not go in now"
        now.waits.remove(its)
        sent = {"step": pad.step, "target": pad.target, "subject": now.subject}
        return self._send({**sent, "text": text, "via": "keys"})

    def press(self, words: str, near: str = "", **chosen: str) -> str:
        """Touch a button; a further field costs two touches: open it, take one of its list."""
        form = self.page.form_with(words, near)
        self.touches += 1 + 2 * len(chosen)
        fields = {**form.fields, **chosen}
        assert form.kind == "event", f"{words!r} sends a page, use submit"
        return self._send({"via": "tap", **fields})

    def fill(self, words: str, **typed: str) -> str:
        """Type into the fields of a form and touch its button."""
        form = self.page.form_with(words)
        assert typed.keys() <= form.fields.keys(), f"{words!r} does not ask that"
        self.touches += 1 + len(typed)
        self.typed += sum(len(text) for text in typed.values())
        return self._send({"via": "tap", **form.fields, **typed})

    def sent_at_once(self, step: str, **found: str) -> str:
        """What a form sends by itself as soon as its photo is taken."""
        form = next(form for form in self.page.forms if form.fields.get("step") == step)
        return self._send({"via": "tap", **form.fields, **found})

    def photograph(self, data: bytes, subject: str) -> str:
        """Take a photo with the phone (two touches) and upload it; return its name."""
        self.touches += 2
        file = SimpleUploadedFile("photo.jpg", data, "image/jpeg")
        answer = self.client.post("/api/photos", {"photo": file, "subject": subject})
        assert answer.status_code == 200, answer.content
        return str(answer.json()["sha256"])

    def ticks(self, kit: Kit) -> None:
        """Tick on this page all that is still asked of a kit, with a photo where one is wanted."""
        for one in ticking.unanswered(kit):
            if one.asked.photo:
                found = {"kind": one.asked.key, "number": str(one.asked.stack)}
                photo = self.photograph(picture(), kit.subject)
                verdict = self.sent_at_once("tick", photo=photo, **found)
            else:
                verdict = self.press(one.asked.words)
            assert verdict == "applied", self.said

    def read_photo(self, path: str, data: bytes, **chosen: str) -> None:
        """Take a photo for a page's form (two touches), choose in its lists, and send it."""
        self.touches += 2 + 2 * len(chosen) + 1
        file = SimpleUploadedFile("photo.jpg", data, "image/jpeg")
        answer = self.client.post(path, {"photo": file, **chosen})
        assert answer.status_code == 200, answer.status_code
        self._page = Page(answer.content.decode())

    def confirm(self, words: str) -> list[str]:
        """One tap that stands for a scan of each line; what the server said to each."""
        found = next(one for one in self.page.confirms if one.words.startswith(words))
        self.touches += 1
        sent = {"via": "photo", **found.fields}
        return [self._send({**sent, "text": text}) for text in found.texts]

    def submit(self, path: str, words: str, **fields: Any) -> str:
        """Fill in a form of the open page and send it; return where it leads ("" for nowhere)."""
        form = self.page.form_with(words)
        name, value, _ = next(button for button in form.buttons if button[2] == words)
        for given in fields.values():
            self.touches += 1
            self.typed += len(given) if isinstance(given, str) else 0
        self.touches += 1
        sent = {**form.fields, **fields, **({name: value} if name else {})}
        answer = self.client.post(path, sent)
        if answer.status_code == 302:
            if path.startswith("/jobs/"):
                # Pressed again, for it seemed to hang: nothing more comes of it.
                assert self.client.post(path, sent)["Location"] == answer["Location"]
            self._load(answer["Location"])
            return str(answer["Location"])
        self._page = Page(answer.content.decode())
        return ""

    def answer(self, path: str, words: str, **fields: str) -> None:
        """Answer questions of a page that follows the answers, in the form that `words` sends.

        A choice beside others costs a touch, one of a folded list two, a text a touch and its
        characters.
        """
        for name, given in fields.items():
            form = self.page.form_with(words)
            offered = given in form.offers.get(name, [])
            self.touches += 2 if offered and name in form.lists else 1
            self.typed += 0 if offered else len(given)
            self._ask(path, {**form.fields, name: given, "ask": "yes"})

    def turn(self, path: str, words: str, turn: str) -> None:
        """Touch the + or - that stands for this turn, as "stacks 1 +"."""
        form = self.page.form_with(words)
        assert any(button[:2] == ("turn", turn) for button in form.buttons), turn
        self.touches += 1
        self._ask(path, {**form.fields, "turn": turn})

    def _ask(self, path: str, sent: dict[str, str]) -> None:
        answer = self.client.post(path, sent)
        assert answer.status_code == 200, answer.status_code
        self._page = Page(answer.content.decode())

    def _extras(self) -> Form:
        pad = self.page.pad
        assert pad is not None, "this page has no pad"
        assert pad.extras is not None, "nothing can be chosen beside its pad"
        return pad.extras

    def _load(self, path: str) -> None:
        answer = self.client.get(path, follow=True)
        assert answer.status_code == 200, f"{path}: {answer.status_code}"
        self._page = Page(answer.content.decode())

    def _send(self, fields: dict[str, Any]) -> str:
        fields = dict(fields)
        if money := fields.pop("money", ""):
            fields["quantity"] = round(float(money) * 100)  # as fields.js has it
        self._seq += 1
        at = START + timedelta(seconds=3 * self._seq)
        line = {
            "v": 1,
            "id": str(uuid7()),
            "seq": self._seq,
            "device": str(self.device),
            "at": at.isoformat().replace("+00:00", "Z"),
            **{name: _one(name, value) for name, value in fields.items() if value != ""},
        }
        answer = self.client.post("/api/events", json.dumps(line), "application/x-ndjson")
        assert answer.status_code == 200, answer.content
        result = answer.json()["results"][0]
        self.verdict, self.said = result["verdict"], result["sentence"]
        return self.verdict


def _one(name: str, value: Any) -> Any:
    """A field as fields.js makes it."""
    if name == "position":
        stack, level = value.split("/")
        return {"stack": int(stack), "level": int(level)}
    if name == "due":
        hour, minute = value.split(":")
        at = timezone.localtime().replace(hour=int(hour), minute=int(minute), second=0)
        return at.astimezone(UTC).isoformat().replace("+00:00", "Z")
    return int(value) if name in WHOLE and str(value).isdigit() else value
