"""The content policy holds in a real browser, not only in a header."""

from playwright.sync_api import Browser


def test_an_inline_script_does_not_run(chromium: Browser, live_server) -> None:
    """A script that somebody smuggles into a page is blocked, and the console says so."""
    context = chromium.new_context()
    page = context.new_page()
    said: list[str] = []
    page.on("console", lambda message: said.append(message.text))
    page.goto(f"{live_server.url}/no-such-page")
    page.evaluate(
        """() => {
            const script = document.createElement("script");
            script.textContent = "document.title = 'smuggled'";
            document.body.append(script);
        }"""
    )

    title = page.title()
    context.close()

    assert title != "smuggled"
    assert any("Content Security Policy" in text for text in said)


def test_a_page_compiles_no_webassembly(chromium: Browser, live_server) -> None:
    """Only the worker of the live camera may, which comes with a policy of its own."""
    context = chromium.new_context()
    page = context.new_page()
    page.goto(f"{live_server.url}/sign-in")
    compiled = page.evaluate(
        """() => WebAssembly.compile(new Uint8Array([0, 97, 115, 109, 1, 0, 0, 0])).then(
            () => "compiled", (error) => error.name)"""
    )
    context.close()

    assert compiled == "CompileError"
