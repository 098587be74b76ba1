"""When a code before the live camera counts, in the browser itself: made-up passes over frames."""

from typing import Any

from playwright.sync_api import Page

FEED = """(passes) => import("/static/inventory/looks.js").then(({ Looks }) => {
    const looks = new Looks();
    return passes.map(([at, full, codes]) => looks.after({ full, codes }, at));
})"""
FULL, QUICK = True, False
Code = dict[str, Any]
Pass = tuple[int, bool, list[Code]]
SEVERAL = {"several": True}


def line(text: str, off: float = 0.1, kind: str = "Code128") -> Code:
    return {"text": text, "format": kind, "off": off}


def square(text: str, off: float = 0.1) -> Code:
    return {"text": text, "format": "QRCode", "off": off}


def taken(text: str) -> dict[str, str]:
    return {"text": text}


ITF = "09521234000013"
CASES: dict[str, list[tuple[Pass, dict[str, Any]]]] = {
    "a line code counts when it was read twice alike": [
        ((0, QUICK, [line("A1")]), {}),
        ((30, QUICK, [line("A7")]), {}),
        ((60, QUICK, [line("A1")]), taken("A1")),
        ((90, QUICK, [line("A1")]), {}),
    ],
    "and not when the second read comes too late": [
        ((0, QUICK, [line("A1")]), {}),
        ((1100, QUICK, [line("A1")]), {}),
        ((1200, FULL, [line("A1")]), taken("A1")),
    ],
    "a square code mends itself and counts at once": [((0, FULL, [square("B")]), taken("B"))],
    "what stays in view counts once, what comes back counts again": [
        ((0, FULL, [square("B")]), taken("B")),
        *(((at, FULL, [square("B")]), {}) for at in range(500, 5001, 500)),
        ((5800, FULL, []), {}),
        ((6400, FULL, [square("B")]), {}),
        ((7950, FULL, [square("B")]), taken("B")),
    ],
    "of several the one that is aimed at counts, else the person has to aim": [
        ((0, FULL, [square("B", 0.9), square("C", 0.5)]), SEVERAL),
        ((100, FULL, [square("B", 0.9), square("C", 0.2)]), taken("C")),
        ((200, FULL, [square("B", 0.2), square("C", 0.9)]), taken("B")),
    ],
    "one alone counts wherever it is, if all of the frame was looked at": [
        ((0, QUICK, [line("A1", 0.8)]), {}),
        ((30, QUICK, [line("A1", 0.8)]), {}),
        ((60, FULL, [line("A1", 0.8)]), taken("A1")),
    ],
    "two symbols with one text are one code": [
        ((0, FULL, [line("A1", 0.6), square("A1", 0.5)]), taken("A1")),
        ((30, QUICK, [line("A1")]), {}),
    ],
    "a piece of an ITF code, or one with a wrong check digit, never counts": [
        *(((at, FULL, [line("0952123400", kind="ITF")]), {}) for at in (0, 100)),
        *(((at, FULL, [line("09521234000014", kind="ITF14")]), {}) for at in (200, 300)),
        ((400, FULL, [line(ITF, kind="ITF14")]), {}),
        ((500, FULL, [line(ITF, kind="ITF14")]), taken(ITF)),
    ],
}


def test_each_look_counts_once_and_only_what_is_sure(page: Page, live_server: Any) -> None:
    """A line code needs two equal reads (quaggaJS issue 237: single reads invent values); 1.5 s out
    of view end a look."""
    page.goto(f"{live_server.url}/sign-in")
    for words, steps in CASES.items():
        expected = [answer for _, answer in steps]
        assert (words, expected) == (words, page.evaluate(FEED, [one for one, _ in steps]))
