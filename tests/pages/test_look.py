"""The look holds what the pages promise: contrast, size of what is pressed, nothing foreign.

Contrast: relative luminance and ratio as WCAG 2.2 defines them; 7:1 is its success criterion 1.4.6.
"""

import re
from pathlib import Path

import pytest

TOP = Path(__file__).resolve().parents[2]
TOKENS = (TOP / "inventory/static/inventory/tokens.css").read_text(encoding="utf-8")
STYLES = sorted(
    [*TOP.glob("inventory/static/inventory/*.css"), *TOP.glob("kitting/static/kitting/*.css")]
)
# The live camera's decoder would load its other half from elsewhere unless it is told where:
# decoding.js tells it, and tests/browser asserts that no request leaves the machine.
FROM_NPM = TOP / "inventory/static/inventory/decoder/reader.js"
PAIRS = [
    ("ink", "paper"),
    ("ink", "desk"),
    ("ink", "wash"),
    ("soft", "paper"),
    ("soft", "desk"),
    ("deep", "paper"),
    ("deep", "desk"),
    ("good", "paper"),
    ("stop", "paper"),
    ("seen", "paper"),
    ("on-deep", "deep"),
    ("on-good", "good"),
    ("on-stop", "stop"),
    ("on-warn", "warn"),
    ("on-seen", "seen"),
    ("on-two", "two"),
    ("on-photo", "on-photo-dark"),
    ("on-photo-good", "on-photo-dark"),
    ("on-photo-warn", "on-photo-dark"),
]


def theme(name: str) -> dict[str, str]:
    """Colours of the light or the dark theme."""
    light, dark = TOKENS.split("@media (prefers-color-scheme: dark)")
    found = dict(re.findall(r"--([\w-]+): (#[0-9a-f]{6})", light))
    return (
        found
        if name == "light"
        else {**found, **dict(re.findall(r"--([\w-]+): (#[0-9a-f]{6})", dark))}
    )


def luminance(colour: str) -> float:
    """Relative luminance (Source: WCAG 2.2, definitions)."""
    parts = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    linear = [p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one: str, other: str) -> float:
    high, low = sorted((luminance(one), luminance(other)), reverse=True)
    return (high + 0.05) / (low + 0.05)


def test_the_measure_is_that_of_the_standard() -> None:
    """Black on white is 21:1; the grey #767676 on white is the known edge of 4.5:1."""
    assert contrast("#000000", "#ffffff") == pytest.approx(21)
    assert contrast("#767676", "#ffffff") == pytest.approx(4.54, abs=0.01)


@pytest.mark.parametrize("name", ["light", "dark"])
@pytest.mark.parametrize(("text", "ground"), PAIRS)
def test_text_stands_out_seven_to_one(name: str, text: str, ground: str) -> None:
    """In sun and in a cellar."""
    colours = theme(name)

    assert contrast(colours[text], colours[ground]) >= 7


def test_colours_stand_in_one_place() -> None:
    """Other style sheets use the tokens; only paper is plain black and white."""
    strangers = {
        path.name: re.findall(r"#[0-9a-fA-F]{3,8}\b|rgba?\(", path.read_text(encoding="utf-8"))
        for path in STYLES
        if path.name not in ("tokens.css", "print.css")
    }

    assert not any(strangers.values()), strangers


def test_nothing_is_fetched_from_elsewhere() -> None:
    """No style, script or template names another site's file; fonts are the system's own."""
    files = [*STYLES, *TOP.glob("*/static/**/*.js"), *TOP.glob("templates/**/*.html")]
    files = [path for path in files if path != FROM_NPM]
    foreign = [
        f"{path.name}: {found}"
        for path in files
        for found in re.findall(
            r"(?:https?:)?//[\w.-]+\.\w{2,}[^\s\"']*|@import|@font-face",
            path.read_text(encoding="utf-8"),
        )
        if "www.w3.org" not in found
    ]

    assert foreign == []


@pytest.mark.parametrize(("suffix", "most"), [("html", 120), ("js", 150)])
def test_pages_and_scripts_stay_small(suffix: str, most: int) -> None:
    """One thing a file."""
    found = [*TOP.glob(f"templates/**/*.{suffix}"), *TOP.glob(f"*/static/**/*.{suffix}")]
    assert found
    assert [
        path.name for path in found if len(path.read_text(encoding="utf-8").splitlines()) > most
    ] == []


def test_nothing_asks_again_or_runs_out() -> None:
    """A person undoes instead of confirming, and no page leaves by itself: no dialogue of the
    browser, no page that loads another after a time."""
    files = [path for path in TOP.glob("*/static/**/*.js") if path != FROM_NPM]
    pages = [*TOP.glob("templates/**/*.html")]
    asking = [
        path.name
        for path in files
        if re.search(
            r"(?<![.\w])(confirm|alert|prompt)\([^)]*\)(?!\s*\{)", path.read_text(encoding="utf-8")
        )
    ]
    leaving = [
        path.name
        for path in [*files, *pages]
        if re.search(
            r"http-equiv=.?refresh|set(Timeout|Interval)\([^;]*location",
            path.read_text(encoding="utf-8"),
        )
    ]

    assert len(files) > 30
    assert (asking, leaving) == ([], [])


def test_no_key_alone_does_anything() -> None:
    """A hand scanner types letters: a page that took one of them as a command would obey a code.

    Keys are heard in one place, which takes whole bursts; WCAG 2.2, 2.1.4 Character Key Shortcuts.
    """
    scripts = [*TOP.glob("inventory/static/inventory/*.js"), *TOP.glob("kitting/static/**/*.js")]
    told = re.compile(r"""["']key(?:down|up|press)["']|\bonkey(?:down|up|press)\b""")
    hear = {path.name for path in scripts if told.search(path.read_text(encoding="utf-8"))}
    pages = [path.read_text(encoding="utf-8") for path in TOP.glob("templates/**/*.html")]

    assert hear == {"scan.js"}
    assert len(pages) > 100
    assert not [page for page in pages if "accesskey" in page.lower() or "onkey" in page.lower()]
