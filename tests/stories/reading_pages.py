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
    extras: Form | None = None
    swap: bool = False  # of a pair the second code is the thing, the first what it replaces


class Page(HTMLParser):
    """One page as people and scripts find it."""

    def __init__(self, text: str) -> None:
        super().__init__(convert_charrefs=True)
        self.links: list[tuple[str, str]] = []  # words, address
        self.forms: list[Form] = []
        self.pad: Pad | None = None
        self.words = ""
        self._open: list[tuple[str, dict[str, str]]] = []
        self._caught: list[list[str]] = []  # texts of open links and buttons
        self._select = ""
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = {name: value or "" for name, value in attrs}
        if tag == "scan-pad":
            self.pad = Pad(given["step"], given.get("subject", ""), swap="swap" in given)
        elif tag == "form":
            self._begin_form(given)
        elif tag in ("a", "button"):
            self._caught.append([])
        elif tag == "select":
            self._select = given.get("name", "")
        if self.forms and self._inside("form") and tag in ("input", "option", "select"):
            self._take_field(tag, given)
        if tag not in VOID:
            self._open.append((tag, given))

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
            elif self.forms:
                button = (given.get("name", ""), given.get("value", ""), words)
                self.forms[-1].buttons.append(button)

    def handle_data(self, data: str) -> None:
        self.words += data
        for caught in self._caught:
            caught.append(data)

    def form_with(self, words: str, near: str = "") -> Form:
        """The form whose button reads so; near: a value that one of its fields holds."""
        for form in self.forms:
            reads = any(words == shown for _, _, shown in form.buttons)
            if reads and (not near or near in form.fields.values()):
                return form
        raise AssertionError(f"no button {words!r} on this page")

    def _inside(self, tag: str) -> bool:
        return any(name == tag for name, _ in self._open)

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
        elif tag == "input":
            earlier = form.fields.get(name, "") if self._inside("stack-counts") else ""
            form.fields[name] = f"{earlier}, {value}" if earlier else value
