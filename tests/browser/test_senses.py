"""What a person with gloves, in sun, in a cellar, or without sight or hearing gets of a page."""

import pytest
from playwright.sync_api import Browser, Page, expect

from tests.browser import bench

SIGNALS = """() => Promise.all([
    import("/static/inventory/signals.js"), import("/static/inventory/verdict.js"),
]).then(([{ signal }, { WORDS }]) => {
    const heard = [];
    window.AudioContext = class { constructor() { this.currentTime = 0; } };
    window.GainNode = class { connect(on) { return on; } };
    window.OscillatorNode = class {
        constructor(_, { frequency }) { this.hertz = frequency; }
        connect(on) { return on; }
        start(at) { this.at = at; }
        stop(at) { heard.at(-1).tones.push([this.hertz, Math.round((at - this.at) * 1000)]); }
    };
    navigator.vibrate = (shakes) => heard.at(-1).shakes.push(...shakes);
    const shape = (name) => document.querySelector(`#shape-${name}`)?.innerHTML;
    for (const [name, word] of Object.entries(WORDS)) {
        if (name === "ready") continue;
        heard.push({ name, word, shape: shape(name), tones: [], shakes: [] });
        signal(name);
    }
    return heard;
})"""
# What a technician has in hand all day.
PADS = tuple(f"/my/J1001/{step}" for step in ("load", "unbox", "fit", "down", "swap", "back"))
HELD = [(390, 844), (320, 640), (844, 390), (640, 360)]  # upright and on its side
# The two that a hand needs: on a narrow phone what leads on, where nothing waits to be scanned.
HANDS = """() => [...document.querySelectorAll(".scanning .hands :is(button, .press, .onward)")]
    .filter((one) => one.checkVisibility() && (one.matches(".undo") || one.matches(".onward") ===
        (innerWidth < 390 && !!document.querySelector(".hands .onward")
            && !document.querySelector("[data-waits], [data-unscanned]")))).map((one) => {
        const { top, bottom, left, right, height, width } = one.getBoundingClientRect();
        return { name: one.innerText.trim(), top, bottom, left, right, height, width };
    })"""
WIDE = """() => [...document.querySelectorAll("main *")]
    .filter((one) => one.checkVisibility() && one.getBoundingClientRect().right > innerWidth + 1)
    .map((one) => one.outerHTML.slice(0, 60))"""
SAY = """() => import("/static/inventory/verdict.js").then(({ show }) =>
    show(document.querySelector("scan-pad .verdict"), "stopped", "A usual sentence.", true))"""
CUT = """() => [...document.querySelectorAll("button, .button, summary, .tag, .verdict, .press")]
    .filter((one) => one.checkVisibility() && one.scrollWidth > one.clientWidth + 1)
    .map((one) => one.innerText.trim())"""


def test_each_verdict_differs_in_four_ways(page: Page, live_server) -> None:
    """Word, shape, sound and vibration: whoever lacks one of them has the others."""
    bench.served(live_server.url).sign_in(page, "tariq")
    page.locator("h1").click()  # a browser shakes nothing before it was touched
    heard = page.evaluate(SIGNALS)

    assert len(heard) >= 8
    for way in ("word", "shape", "tones", "shakes"):
        told = [str(one[way]) for one in heard]
        assert all(one not in ("None", "", "[]") for one in told), way
        assert len(set(told)) == len(told), way


def test_sound_and_vibration_are_switched_each_by_itself(page: Page, live_server) -> None:
    """Each stays as it was left, on this device; the other is not touched."""
    served = bench.served(live_server.url)
    served.sign_in(page, "tariq")
    page.locator("unsent-badge summary").click()
    page.get_by_role("button", name="Sound is on").click()
    page.reload()
    page.locator("unsent-badge summary").click()

    expect(page.get_by_role("button", name="Sound is off")).to_be_visible()
    expect(page.get_by_role("button", name="Vibration is on")).to_be_visible()
    heard = page.evaluate(SIGNALS)
    assert not any(one["tones"] for one in heard)
    assert all(one["shakes"] for one in heard)


@pytest.mark.parametrize("asked", ["light", "dark"])
def test_the_screen_is_chosen_for_sun_or_cellar(chromium: Browser, live_server, asked: str) -> None:
    """Whatever the phone asks for; kept on the phone, and there before the page is drawn."""
    served = bench.served(live_server.url)
    context = chromium.new_context(viewport={"width": 390, "height": 844}, color_scheme=asked)  # type: ignore[arg-type]
    page = context.new_page()
    served.sign_in(page, "tariq")
    own = {"light": "rgb(237, 235, 229)", "dark": "rgb(14, 17, 19)"}
    ground = "getComputedStyle(document.body).backgroundColor"
    found = {}
    for choice in ("Sun", "Cellar", "As the phone"):
        page.locator("unsent-badge summary").click()
        page.locator("screen-switch").get_by_text(choice).click()
        at_once = page.evaluate(ground)
        page.reload()
        found[choice] = (at_once, page.evaluate(ground))
    context.close()

    assert found == {
        "Sun": (own["light"],) * 2,
        "Cellar": (own["dark"],) * 2,
        "As the phone": (own[asked],) * 2,
    }


def test_a_thumb_reaches_scan_and_undo_however_the_phone_is_held(page: Page, live_server) -> None:
    """20 mm (126 px at 160 an inch), in the lower third, whole, and not on one another."""
    served = bench.served(live_server.url)
    served.sign_in(page, "tariq")
    faults = []
    for address in PADS:
        page.goto(f"{served.url}{address}")
        for width, high in HELD:
            page.set_viewport_size({"width": width, "height": high})
            page.evaluate("scrollTo(0, 0)")
            page.evaluate(SAY)
            hands = page.evaluate(HANDS)
            assert len(hands) >= 2
            for one in hands:
                told = f"{address} {width} x {high}: {one}"
                # On its side a phone is so low that a third is less than 20 mm: then the middle.
                from_ = one["top"] if high > width else (one["top"] + one["bottom"]) / 2
                if min(one["height"], one["width"]) < 126 or from_ < high * 2 / 3:
                    faults.append(told)
                if one["bottom"] > high or one["left"] < 0 or one["right"] > width:
                    faults.append(f"out of sight: {told}")
            room = min(one["top"] for one in hands)
            verdict = page.locator(".verdict").first.bounding_box()
            assert verdict
            if verdict["y"] < 0 or verdict["y"] + verdict["height"] > room:
                faults.append(f"{address} {width} x {high}: the verdict is hidden")

    assert faults == []


def test_text_of_twice_the_size_fits(page: Page, live_server) -> None:
    """WCAG 2.2, success criterion 1.4.4: text to 200 %, here on the narrowest phone and on one that
    lies on its side; no control loses its words, nothing scrolls sideways."""
    served = bench.served(live_server.url)
    served.sign_in(page, "tariq")
    faults = []
    job = "/my/J1001/"
    others = [f"{job}{step}" for step in ("problem", "start", "missing", "differs")]
    beside = ("/sites/", "/figures/", "/scanner/", "/kits/J1001-1/why?item=CT-BOLT6")
    for address in ("/my/", job, *PADS, *others, *beside):
        page.goto(f"{served.url}{address}")
        for width, high in ((320, 700), (390, 700), (844, 390)):
            page.set_viewport_size({"width": width, "height": high})
            page.evaluate("document.documentElement.style.fontSize = '200%'")
            if page.evaluate("document.documentElement.scrollWidth > innerWidth"):
                faults.append(f"{address} is wider than {width} px: {page.evaluate(WIDE)}")
            faults += [f"{address} at {width} px cuts {one!r}" for one in page.evaluate(CUT)]

    assert faults == []
