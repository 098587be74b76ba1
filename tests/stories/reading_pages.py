"""Enough of a browser to walk our pages: links, scanning pads, forms and what they offer."""

from __future__ import annotations

from dataclasses import dataclass, field
from html.parser import HTMLParser

VOID = {"input", "br", "img", "meta", "link", "hr", "path", "rect", "use", "circle"}
APART = {"td", "th", "li", "dt", "dd"}  # their texts stand side by side, not as one word
NOT_SENT = {"submit", "button", "file"}


@dataclass
class Form:
    """One form. kind: event (one event line), extras (fields beside a pad), plain (a post)."""

    kind: str
    fields: dict[str, str] = field(default_factory=dict)  # as the browser would send them now
    offers: dict[str, list[str]] = field(default_factory=dict)  # name -> values of its choices
    buttons: list[tuple[str, str, str]] = field(default_factory=list)  # name, value, words
    lists: set[str] = field(default_factory=set)  # names whose choices fold into a list


@dataclass
class Pad:
    """A <scan-pad>: every code scanned on its page becomes an event of this step."""

    step: str
    subject: str
    target: str = ""
    extras: Form | None = None
    swap: bool = False  # of a pair the second code is the thing, the first what it replaces
    shared: bool = False  # for several kits: a thing, then the label of each box it goes into


@dataclass
class Confirm:
    """A <confirm-all>: one tap sends an event of this step for each of its lines."""

    fields: dict[str, str]  # step, subject, target, kind as given
    texts: list[str] = field(default_factory=list)
    words: str = ""  # of its button


@dataclass
class Line:
    """One line of a walk for several kits."""

    keys: set[str]
    place: str
    single: bool
    split: dict[str, str] = field(default_factory=dict)  # letter -> how many, "" of a thing alone


@dataclass
class Box:
    """What one kit of such a walk is gathered in."""

    letter: str
    subject: str
    bag: bool


@dataclass
class Turn:
    """One visit of a van that is loaded for several, with the keys of what is not on it yet."""

    subject: str
    waits: list[set[str]] = field(default_factory=list)


class Page(HTMLParser):
    """One page as people and scripts find it."""

    def __init__(self, text: str) -> None:
        super().__init__(convert_charrefs=True)
        self.links: list[tuple[str, str]] = []  # words, address
        self.forms: list[Form] = []
        self.pad: Pad | None = None
        self.confirms: list[Confirm] = []
        self.walk: list[Line] = []
        self.boxes: dict[str, Box] = {}  # by label
        self.turns: list[Turn] = []
        self.words = ""
        self._open: list[tuple[str, dict[str, str]]] = []
        self._caught: list[list[str]] = []  # texts of open links and buttons
        self._select = ""
        self._lines: dict[str, list[str]] = {}  # of parts that are drawn again, by their id
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = {name: value or "" for name, value in attrs}
        if tag == "scan-pad":
            target = given.get("target", "")
            self.pad = Pad(given["step"], given.get("subject", ""), target, swap="swap" in given)
            self.pad.shared = "shared" in given
        elif tag == "confirm-all":
            self.confirms.append(Confirm({name: value for name, value in given.items() if value}))
        elif tag == "form":
            self._begin_form(given)
        elif tag in ("a", "button"):
            self._caught.append([])
        elif tag == "select":
            self._select = given.get("name", "")
        if self.forms and self._inside("form") and tag in ("input", "option", "select"):
            self._take_field(tag, given)
        if "data-text" in given and self._inside("confirm-all"):
            self.confirms[-1].texts.append(given["data-text"])
        self._take_walk(given)
        if tag == "li" and (part := self._part()):
            self._lines.setdefault(part, []).append("")
        if tag not in VOID:
            self._open.append((tag, given))

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """<use/> ends itself: it must not end what it stands in."""
        self.handle_starttag(tag, attrs)
        if tag not in VOID:
            self.handle_endtag(tag)

    def handle_endtag(self, tag: str) -> None:
        self.words += " " if tag in APART else ""
        given: dict[str, str] = {}
        while self._open:
            name, given = self._open.pop()
            if name == tag:
                break
        if tag in ("a", "button") and self._caught:
            words = " ".join("".join(self._caught.pop()).split())
            if tag == "a":
                self.links.append((words, given.get("href", "")))
            elif self._inside("confirm-all") and not self._inside("form"):
                self.confirms[-1].words = words
            elif self.forms:
                button = (given.get("name", ""), given.get("value", ""), words)
                self.forms[-1].buttons.append(button)

    def handle_data(self, data: str) -> None:
        self.words += data
        if (part := self._part()) and self._lines.get(part):
            self._lines[part][-1] += data
        for caught in self._caught:
            caught.append(data)

    def form_with(self, words: str, near: str = "") -> Form:
        """The form whose button reads so; near: a value that one of its fields holds."""
        for form in self.forms:
            reads = any(words == shown for _, _, shown in form.buttons)
            if reads and (not near or near in form.fields.values()):
                return form
        raise AssertionError(f"no button {words!r} on this page")

    def lines_of(self, part: str) -> list[str]:
        """The lines of the lists in a part that is drawn again."""
        return self._lines.get(part, [])

    def part(self, part: str) -> str:
        """All that those lines say."""
        return "\n".join(self.lines_of(part))

    def _part(self) -> str:
        return next((given.get("id", "") for tag, given in self._open if tag == "fresh-part"), "")

    def _inside(self, tag: str) -> bool:
        return any(name == tag for name, _ in self._open)

    def _take_walk(self, given: dict[str, str]) -> None:
        if "data-line" in given:
            single = given["data-single"] == "yes"
            keys = set(given["data-keys"].split("\n"))
            self.walk.append(Line(keys, given["data-from"], single))
        elif "data-letter" in given:
            self.walk[-1].split[given["data-letter"]] = given.get("data-quantity", "")
        elif "data-turn" in given:
            self.turns.append(Turn(given["data-subject"]))
        elif "data-waits" in given and "data-keys" in given:
            self.turns[-1].waits.append(set(given["data-keys"].split("\n")))
        elif "data-box" in given:
            for name in ("data-labels", "data-bags"):
                for label in given[name].split():
                    bag = name == "data-bags"
                    self.boxes[label] = Box(given["data-box"], given["data-subject"], bag)

    def _begin_form(self, given: dict[str, str]) -> None:
        extras = "extras" in given.get("class", "").split()
        kind = "event" if self._inside("event-form") else "extras" if extras else "plain"
        self.forms.append(Form(kind))
        if extras and self.pad is not None:
            self.pad.extras = self.forms[-1]

    def _take_field(self, tag: str, given: dict[str, str]) -> None:
        form = self.forms[-1]
        name = given.get("name", "") or (self._select if tag == "option" else "")
        if not name or given.get("type") in NOT_SENT:
            return
        value = given.get("value", "")
        if tag == "option":
            form.offers.setdefault(name, []).append(value)
            form.lists.add(name)
            if "selected" in given or name not in form.fields:
                form.fields[name] = value
        elif given.get("type") in ("radio", "checkbox"):
            form.offers.setdefault(name, []).append(value)
            if "checked" in given:
                form.fields[name] = value
        elif tag == "input" and not value and name in form.lists:
            return  # an empty box beside a list leaves what is chosen there
        elif tag == "input":
            earlier = form.fields.get(name, "") if self._inside("stack-counts") else ""
            form.fields[name] = f"{earlier}, {value}" if earlier else value
