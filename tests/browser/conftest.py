"""A real browser for the tests of the page: Chromium without a window, told what to do through two pipes.

The pipes speak the Chrome DevTools Protocol, messages of JSON that end with a zero byte, so no driver and no
library is needed. Where there is no Chromium the tests are skipped and say so.
"""

import json
import os
import select
import shutil
import subprocess
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

NAMES = ("chromium", "chromium-browser", "google-chrome", "chrome")
SWITCHES = (
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--disable-extensions",
    "--disable-dev-shm-usage",
    "--hide-scrollbars",
    "--remote-debugging-pipe",
)
PATIENCE = 60.0
"""Seconds any single answer may take, on however slow a machine."""

Message = dict[str, Any]


class Browser:
    """A running Chromium."""

    def __init__(self, program: str, profile: Path) -> None:
        """Start `program` with the fresh `profile`, its commands on file 3 and its answers on file 4."""
        command_out, self._commands = os.pipe()
        self._answers, answer_in = os.pipe()

        def join_pipes() -> None:
            os.dup2(os.dup2(command_out, 1000), 3)
            os.dup2(os.dup2(answer_in, 1001), 4)

        # files 1000 and 1001 stand in between, since the pipes themselves may be files 3 and 4
        command_out, answer_in = _away(command_out), _away(answer_in)
        self.process = subprocess.Popen(
            [program, *SWITCHES, f"--user-data-dir={profile}", "about:blank"],
            stdin=subprocess.DEVNULL,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
            preexec_fn=join_pipes,
            close_fds=False,
        )
        os.close(command_out)
        os.close(answer_in)
        self._count, self._rest = 0, b""
        self.events: list[Message] = []

    def ask(self, method: str, session: str | None = None, **words: Any) -> Message:
        """Send one command and wait for its answer."""
        self._count += 1
        message = {"id": self._count, "method": method, "params": words}
        if session:
            message["sessionId"] = session
        data = json.dumps(message).encode() + b"\0"
        while data:
            data = data[os.write(self._commands, data) :]
        number = self._count
        while True:
            answer = self._next(PATIENCE)
            assert answer is not None, f"the browser does not answer {method}"
            if answer.get("id") == number:
                assert "error" not in answer, f"{method}: {answer['error']}"
                result: Message = answer["result"]
                return result

    def listen(self, seconds: float) -> None:
        """Take in events for a while."""
        end = time.monotonic() + seconds
        while time.monotonic() < end:
            self._next(max(0.0, end - time.monotonic()))

    def _next(self, seconds: float) -> Message | None:
        """The next message, None after so many seconds without one; events are kept."""
        end = time.monotonic() + seconds
        while b"\0" not in self._rest:
            ready, _, _ = select.select([self._answers], [], [], max(0.0, end - time.monotonic()))
            if not ready:
                return None
            piece = os.read(self._answers, 1 << 20)
            assert piece, "the browser has ended"
            self._rest += piece
        line, _, self._rest = self._rest.partition(b"\0")
        message: Message = json.loads(line)
        if "method" in message:
            self.events.append(message)
        return message

    def close(self) -> None:
        """End this browser, and only this one."""
        try:
            self.ask("Browser.close")
            self.process.wait(timeout=15)
        except (AssertionError, OSError, subprocess.TimeoutExpired):
            self.process.kill()
            self.process.wait(timeout=15)
        os.close(self._commands)
        os.close(self._answers)


def _away(file: int) -> int:
    """The same file under a number that is neither 3 nor 4."""
    held = [file]
    while held[-1] in {3, 4}:
        held.append(os.dup(held[-1]))
    for other in held[:-1]:
        os.close(other)
    return held[-1]


class Tab:
    """One page in the browser; storage is shared with the other tabs of the test, not with other tests."""

    def __init__(self, browser: Browser, context: str) -> None:
        """Open an empty tab."""
        self.browser = browser
        target = browser.ask("Target.createTarget", url="about:blank", browserContextId=context)["targetId"]
        self.target: str = target
        attached = browser.ask("Target.attachToTarget", targetId=target, flatten=True)
        self.session: str = attached["sessionId"]
        for domain in ("Page", "Runtime", "Log", "Network"):
            self.ask(f"{domain}.enable")
        self.ask("Emulation.setFocusEmulationEnabled", enabled=True)  # as if in front

    def ask(self, method: str, **words: Any) -> Message:
        """Send this tab a command."""
        return self.browser.ask(method, self.session, **words)

    def size(self, width: int, height: int, *, phone: bool = False) -> None:
        """Make the window so many CSS pixels large."""
        self.ask(
            "Emulation.setDeviceMetricsOverride",
            width=width,
            height=height,
            deviceScaleFactor=2 if phone else 1,
            mobile=phone,
        )
        self.ask("Emulation.setTouchEmulationEnabled", enabled=phone)

    def scheme(self, scheme: str, media: str = "") -> None:
        """Light or dark, and for the screen or for print."""
        self.ask(
            "Emulation.setEmulatedMedia",
            media=media,
            features=[
                {"name": "prefers-color-scheme", "value": scheme},
                {"name": "prefers-reduced-motion", "value": "reduce"},
            ],
        )

    def open(self, path: Path) -> None:
        """Open a file and wait until it is loaded."""
        self._loaded(lambda: self.ask("Page.navigate", url=path.as_uri()))

    def reload(self) -> None:
        """Load the same page again."""
        self._loaded(lambda: self.ask("Page.reload"))

    def _loaded(self, start: Callable[[], Message]) -> None:
        before = len(self.seen("Page.loadEventFired"))
        start()
        end = time.monotonic() + PATIENCE
        while len(self.seen("Page.loadEventFired")) == before:
            assert time.monotonic() < end, "the page does not load"
            self.browser.listen(0.05)

    def seen(self, method: str) -> list[Message]:
        """What the tab has told of one kind."""
        events = self.browser.events
        return [e["params"] for e in events if e["method"] == method and e.get("sessionId") == self.session]

    def run(self, code: str) -> Any:
        """The value of a piece of JavaScript, awaited."""
        answer = self.ask("Runtime.evaluate", expression=code, returnByValue=True, awaitPromise=True)
        assert "exceptionDetails" not in answer, answer["exceptionDetails"]
        return answer["result"].get("value")

    def press(self, key: str, *, shift: bool = False) -> None:
        """Press a key: a character, or `Tab`, `Enter`, ` `."""
        codes = {"Tab": 9, "Enter": 13, " ": 32, "Home": 36, "End": 35, "ArrowRight": 39}
        words: Message = {"key": key, "modifiers": 8 if shift else 0}
        words["windowsVirtualKeyCode"] = codes.get(key, ord(key.upper()[0]))
        text = {"Enter": "\r"}.get(key, key if len(key) == 1 else "")
        kind = "keyDown" if text else "rawKeyDown"
        self.ask("Input.dispatchKeyEvent", type=kind, **words, **({"text": text} if text else {}))
        self.ask("Input.dispatchKeyEvent", type="keyUp", **words)

    def click(self, query: str) -> None:
        """Click the middle of an element, by the mouse, once it is scrolled to and has come to rest."""
        place = self.run(
            f"(async () => {{ const e = document.querySelector({json.dumps(query)}); let last = ''; "
            "for (;;) { e.scrollIntoView({block: 'center', behavior: 'instant'}); "
            "await new Promise(f => requestAnimationFrame(() => requestAnimationFrame(f))); "
            "const r = e.getBoundingClientRect(); const at = [r.x + r.width / 2, r.y + r.height / 2]; "
            "if (String(at) === last) return at; last = String(at); } })()"
        )
        for kind in ("mousePressed", "mouseReleased"):
            self.ask(
                "Input.dispatchMouseEvent", type=kind, x=place[0], y=place[1], button="left", clickCount=1
            )

    def complaints(self) -> list[str]:
        """Everything the console was told, and every error of a script."""
        self.browser.listen(0.1)
        told = [str(e["args"]) for e in self.seen("Runtime.consoleAPICalled")]
        told += [e["exceptionDetails"]["text"] for e in self.seen("Runtime.exceptionThrown")]
        return told + [e["entry"]["text"] for e in self.seen("Log.entryAdded")]

    def requests(self) -> list[str]:
        """The addresses of everything the tab asked for."""
        self.browser.listen(0.1)
        return [e["request"]["url"] for e in self.seen("Network.requestWillBeSent")]


def _program() -> str:
    found = next(filter(None, map(shutil.which, NAMES)), None)
    if found is None:
        pytest.skip(f"no browser found: none of {', '.join(NAMES)} is on the path")
    return found


@pytest.fixture(scope="session")
def browser(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Browser]:
    """One Chromium for all tests of a session."""
    if os.name != "posix":
        pytest.skip("the browser is driven through inherited pipes, which this system has not")
    running = Browser(_program(), tmp_path_factory.mktemp("profile"))
    yield running
    running.close()


@pytest.fixture
def new_tab(browser: Browser) -> Iterator[Callable[[], Tab]]:
    """Opens tabs that share a storage of their own."""
    context = browser.ask("Target.createBrowserContext")["browserContextId"]
    yield lambda: Tab(browser, context)
    browser.ask("Target.disposeBrowserContext", browserContextId=context)
    browser.events.clear()


@pytest.fixture
def tab(new_tab: Callable[[], Tab]) -> Tab:
    """A tab the size of a desktop window, in the light."""
    opened = new_tab()
    opened.size(1280, 900)
    opened.scheme("light")
    return opened
