"""A hand scanner set to a US keyboard, on computers with other keyboards: what the keys become.

Keys go through the browser's own input protocol (Chrome DevTools Protocol, Input.dispatchKeyEvent):
trusted events, each with its own time, so that a busy machine does not make a scanner slow.
"""

from __future__ import annotations

import time

from playwright.sync_api import Page

from inventory.codes.layouts import HOSTS, US

CODES = [
    *(f"Digit{digit}" for digit in "1234567890"),
    *("Minus", *(f"Key{letter}" for letter in "QWERTYUIOP"), "BracketLeft"),
    *(*(f"Key{letter}" for letter in "ASDFGHJKL"), "Semicolon", "Quote"),
    *(*(f"Key{letter}" for letter in "ZXCVBNM"), "Comma", "Period", "Slash"),
]
LAYOUTS = {"US": US, "DE": HOSTS["DE"], "FR": HOSTS["FR"], "UK": HOSTS["UK"]}
ALT, CTRL, SHIFT = 1, 2, 8
GS = "\x1d"
DEAD = "\0"  # how the layouts write a key that gives no sign by itself
GAP = 0.002  # s from one key to the next
PERSON = 0.05  # s: with such gaps and longer ones the time really passes
NAMED = {"\r": ("Enter", "Enter", 13), "\t": ("Tab", "Tab", 9), "\n": ("Enter", "Enter", 13)}


# A hand takes longer than that from a new page to the next code.
STANDS = """() => new Promise((done) => {
  const [page] = performance.getEntriesByType("navigation"); // none where a test has the clock
  !page || performance.now() - page.loadEventEnd > 200 ? done() : setTimeout(done, 200);
})"""


class Scanner:
    """One hand scanner at one page."""

    def __init__(
        self, page: Page, layout: str = "US", separator: str = "ctrl", end: str = "\r"
    ) -> None:
        """layout: the computer's; separator: ctrl, f8, alt, lost, or the text that it types.

        `caps`: Caps Lock is on: each letter comes in the other case, Shift down or up as ever.
        """
        self.caps, self.page = False, page
        self.link = page.context.new_cdp_session(page)
        self.keyboard, self.separator, self.end = LAYOUTS[layout], separator, end
        self.there = dict(zip(self.keyboard, CODES * 2, strict=True))
        self.now = 0.0

    def scan(self, text: str, gap: float = GAP) -> None:
        """Type the text of a code and what the scanner sends behind it."""
        self.page.evaluate(STANDS)
        self.now = time.time()
        for sign in text:
            self._sign(sign)
            self._wait(gap)
        self._type(self.end, gap)

    def type(self, keys: str, gap: float = GAP) -> None:
        """Type these very keys, as this computer's keyboard names them."""
        self.now = time.time()
        self._type(keys, gap)

    def rest(self, gap: float) -> None:
        """Nothing for so many seconds, between two codes in a row (`on`)."""
        self._wait(gap)

    def on(self, keys: str) -> None:
        """Go on typing where `type` or `rest` left off."""
        self._type(keys, GAP)

    def _type(self, keys: str, gap: float) -> None:
        for key in keys:
            self._key(key)
            self._wait(gap)

    def _wait(self, gap: float) -> None:
        self.now += gap
        if gap >= PERSON:
            time.sleep(gap)
            self.now = time.time()

    def _sign(self, sign: str) -> None:
        ways = {"ctrl": self._ctrl, "f8": self._f8, "alt": self._alt, "lost": lambda: None}
        if sign != GS:
            self._key(self.keyboard[US.index(sign)] if sign in US else sign)
        elif self.separator in ways:
            ways[self.separator]()
        else:
            keys = (self.keyboard[US.index(c)] if c in US else c for c in self.separator)
            self._type("".join(keys), GAP)

    def _key(self, key: str) -> None:
        code = self.there.get(key, "")
        shift = SHIFT if code and self.keyboard.index(key) >= len(CODES) else 0
        if key == GS:
            self._ctrl()
        elif key == DEAD:
            self._press(key="Dead", code="BracketLeft")
        elif key in NAMED:
            name, named, number = NAMED[key]
            self._press(key=name, code=named, windowsVirtualKeyCode=number)
        else:
            key = key.swapcase() if self.caps else key
            self._press(key=key, code=code, text=key, unmodifiedText=key, modifiers=shift)

    def _ctrl(self) -> None:
        self._press(key="]", code="BracketRight", modifiers=CTRL)

    def _f8(self) -> None:
        self._press(key="F8", code="F8", windowsVirtualKeyCode=119)

    def _alt(self) -> None:
        self._send("rawKeyDown", key="Alt", code="AltLeft", modifiers=ALT)
        for digit in "029":
            self._press(key=digit, code=f"Numpad{digit}", modifiers=ALT, isKeypad=True)
        self._send("keyUp", key="Alt", code="AltLeft")

    def _press(self, **key: object) -> None:
        # That a key goes up again nobody here hears, but of Alt.
        self._send("keyDown" if "text" in key else "rawKeyDown", **key)

    def _send(self, kind: str, **key: object) -> None:
        self.link.send("Input.dispatchKeyEvent", {"type": kind, "timestamp": self.now, **key})
