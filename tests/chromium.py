"""A headless Chromium that a test can steer: by its own protocol, over two pipes.

Commands and answers are JSON, each ended by a zero byte (`--remote-debugging-pipe`, Chrome
DevTools Protocol); the browser reads from its file 3 and writes to its file 4.
"""

from __future__ import annotations

import base64
import fcntl
import json
import os
import select
import shutil
import subprocess
import time
from collections import defaultdict
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest

CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser")
needs_chromium = pytest.mark.skipif(CHROMIUM is None, reason="no chromium to show the page in")

PATIENCE = 60.0

Point = tuple[float, float]
ALT, CONTROL, SHIFT = 1, 2, 8
"""Modifiers, as the protocol numbers them; several are added."""
KEYS = {
    "Enter": ("Enter", 13),
    "Escape": ("Escape", 27),
    "Tab": ("Tab", 9),
    "Space": ("Space", 32),
    "PageUp": ("PageUp", 33),
    "PageDown": ("PageDown", 34),
    "End": ("End", 35),
    "Home": ("Home", 36),
    "ArrowLeft": ("ArrowLeft", 37),
    "ArrowUp": ("ArrowUp", 38),
    "ArrowRight": ("ArrowRight", 39),
    "ArrowDown": ("ArrowDown", 40),
    "Delete": ("Delete", 46),
}
"""Names of keys: their codes and numbers."""


class _Wire:
    """The two pipes to a browser, and what it has reported of each of its pages."""

    def __init__(self, writing: int, reading: int) -> None:
        self._writing, self._reading = writing, reading
        self._rest = b""
        self._number = 0
        self.events: dict[str | None, list[dict[str, Any]]] = defaultdict(list)

    def call(self, session: str | None, method: str, params: dict[str, Any]) -> dict[str, Any]:
        self._number += 1
        told: dict[str, Any] = {"id": self._number, "method": method, "params": params}
        if session:
            told["sessionId"] = session
        os.write(self._writing, json.dumps(told).encode() + b"\0")
        end = time.monotonic() + PATIENCE
        while True:
            answer = self._next(end)
            if answer.get("id") == self._number:
                assert "error" not in answer, answer["error"]
                result: dict[str, Any] = answer["result"]
                return result
            self.events[answer.get("sessionId")].append(answer)

    def _next(self, end: float) -> dict[str, Any]:
        while b"\0" not in self._rest:
            ready, _, _ = select.select([self._reading], [], [], max(0.0, end - time.monotonic()))
            assert ready, "the browser does not answer"
            data = os.read(self._reading, 1 << 16)
            assert data, "the browser has gone"
            self._rest += data
        line, _, self._rest = self._rest.partition(b"\0")
        told: dict[str, Any] = json.loads(line)
        return told


class Browser:
    """One page; ``events`` is everything the browser has reported of it, oldest first."""

    def __init__(self, wire: _Wire) -> None:
        self._wire = wire
        self._session: str | None = None
        target = self.call("Target.createTarget", url="about:blank", newWindow=True)["targetId"]
        self._session = self.call("Target.attachToTarget", targetId=target, flatten=True)[
            "sessionId"
        ]
        self.events = wire.events[self._session]
        for domain in ("Page", "Runtime", "Network", "Log"):
            self.call(f"{domain}.enable")

    def call(self, method: str, **params: Any) -> dict[str, Any]:
        return self._wire.call(self._session, method, params)

    def second_page(self) -> Browser:
        """Return a further page of the same browser, with the same cookies."""
        return Browser(self._wire)

    def show(
        self,
        address: str,
        width: int = 800,
        height: int = 900,
        *,
        dark: bool = False,
        touch: bool = False,
    ) -> None:
        self.call(
            "Emulation.setDeviceMetricsOverride",
            width=width,
            height=height,
            deviceScaleFactor=1,
            mobile=False,
        )
        self.call("Emulation.setTouchEmulationEnabled", enabled=touch)
        features = [{"name": "prefers-color-scheme", "value": "dark" if dark else "light"}]
        self.call("Emulation.setEmulatedMedia", features=features)
        self.call("Page.navigate", url=address)
        self.until("document.readyState === 'complete'")

    def find(self, script: str) -> Any:
        """Return the value of an expression in the page."""
        answer = self.call(
            "Runtime.evaluate", expression=script, returnByValue=True, awaitPromise=True
        )
        assert "exceptionDetails" not in answer, answer["exceptionDetails"]
        return answer["result"].get("value")

    def until(self, script: str) -> None:
        """Wait until an expression is true, through loading pages."""
        end = time.monotonic() + PATIENCE
        while time.monotonic() < end:
            try:
                if self.find(f"Promise.resolve(({script})).then(Boolean)"):
                    return
            except AssertionError:  # between two pages
                pass
            time.sleep(0.05)
        raise AssertionError(f"never true: {script}")

    def mouse(self, kind: str, x: float, y: float, *, modifiers: int = 0) -> None:
        """Let the mouse do something: ``mousePressed``, ``mouseMoved`` or ``mouseReleased``."""
        buttons = 0 if kind == "mouseReleased" else 1
        self.call(
            "Input.dispatchMouseEvent",
            type=kind,
            x=x,
            y=y,
            modifiers=modifiers,
            button="left",
            buttons=buttons,
            clickCount=0 if kind == "mouseMoved" else 1,
        )

    def drag(self, points: Sequence[Point], *, modifiers: int = 0) -> None:
        """Press the mouse at the first point, pull it through the others, let it go at the last."""
        self.mouse("mousePressed", *points[0], modifiers=modifiers)
        for point in points[1:]:
            self.mouse("mouseMoved", *point, modifiers=modifiers)
        self.mouse("mouseReleased", *points[-1], modifiers=modifiers)

    def click(self, x: float, y: float) -> None:
        self.drag([(x, y)])

    def touch(self, points: Sequence[Point]) -> None:
        """Put a finger at the first point, draw it through the others, and lift it."""
        for kind, at in [
            ("touchStart", points[0]),
            *(("touchMove", each) for each in points[1:]),
            ("touchEnd", None),
        ]:
            touched = [] if at is None else [{"x": at[0], "y": at[1]}]
            self.call("Input.dispatchTouchEvent", type=kind, touchPoints=touched)

    def press(self, key: str, *, modifiers: int = 0, times: int = 1) -> None:
        """Press and let go a key by its name; held down ``times``, as a key repeats itself."""
        code, number = KEYS.get(key) or (f"Key{key.upper()}", ord(key.upper()))
        named: dict[str, Any] = {
            "key": key,
            "code": code,
            "windowsVirtualKeyCode": number,
            "modifiers": modifiers,
        }
        text = {"Enter": "\r", "Space": " "}.get(key, key if len(key) == 1 else "")
        if key == "Space":
            named["key"] = " "
        typed = {"text": text} if text and not modifiers & (ALT | CONTROL) else {}
        for again in range(times):
            self.call(
                "Input.dispatchKeyEvent", type="keyDown", autoRepeat=again > 0, **named, **typed
            )
        self.call("Input.dispatchKeyEvent", type="keyUp", **named)

    def type(self, text: str) -> None:
        """Put text in the field that has the focus, in place of all that is selected."""
        self.call("Input.insertText", text=text)

    def middle(self, selector: str) -> Point:
        """Scroll an element into view and return its middle, CSS px of the window."""
        found = self.find(
            f"(() => {{ const each = document.querySelector({json.dumps(selector)});"
            " each.scrollIntoView({ block: 'center' }); const box = each.getBoundingClientRect();"
            " return [box.x + box.width / 2, box.y + box.height / 2]; })()"
        )
        return found[0], found[1]

    def spoken(self, selector: str) -> dict[str, Any]:
        """Return what the accessibility tree holds of an element: role, name and properties."""
        node = self.call("Runtime.evaluate", expression=f"document.querySelector({selector!r})")
        found = self.call(
            "Accessibility.getPartialAXTree",
            objectId=node["result"]["objectId"],
            fetchRelatives=False,
        )["nodes"][0]
        named = {each["name"]: each["value"].get("value") for each in found.get("properties", [])}
        plain = {key: found[key]["value"] for key in ("role", "name", "value") if key in found}
        return named | plain

    def measured(self) -> dict[str, float]:
        """Return the browser's own counts and times: ``Nodes``, ``ScriptDuration`` and others."""
        self.call("Performance.enable")
        found = self.call("Performance.getMetrics")["metrics"]
        return {each["name"]: each["value"] for each in found}

    def picture(self, path: Path, *, whole: bool = True) -> None:
        answer = self.call("Page.captureScreenshot", format="png", captureBeyondViewport=whole)
        path.write_bytes(base64.b64decode(answer["data"]))

    def paper(self, path: Path) -> None:
        answer = self.call("Page.printToPDF", preferCSSPageSize=True, printBackground=True)
        path.write_bytes(base64.b64decode(answer["data"]))

    def requests(self) -> list[str]:
        """Return every address asked for so far."""
        sent = [each for each in self.events if each.get("method") == "Network.requestWillBeSent"]
        return [each["params"]["request"]["url"] for each in sent]

    def complaints(self) -> list[str]:
        """Return every message, warning and error of the console."""
        kinds = ("Runtime.consoleAPICalled", "Runtime.exceptionThrown", "Log.entryAdded")
        return [str(each["params"]) for each in self.events if each.get("method") in kinds]


@contextmanager
def browser(folder: Path) -> Iterator[Browser]:
    """Start a browser that keeps its things in a folder, and end it."""
    assert CHROMIUM is not None
    to_read, writing = os.pipe()
    reading, to_write = os.pipe()
    words = [
        *(CHROMIUM, "--headless", "--disable-gpu", "--no-first-run", "--hide-scrollbars"),
        *(["--no-sandbox"] if os.getuid() == 0 else []),
        *("--remote-debugging-pipe", f"--user-data-dir={folder}"),
    ]
    ends = [fcntl.fcntl(end, fcntl.F_DUPFD, 10) for end in (to_read, to_write)]  # clear of 3 and 4

    def moved() -> None:
        os.dup2(ends[0], 3)
        os.dup2(ends[1], 4)

    with subprocess.Popen(
        words,
        pass_fds=(3, 4),
        preexec_fn=moved,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
    ) as process:
        for end in (to_read, to_write, *ends):
            os.close(end)
        try:
            yield Browser(_Wire(writing, reading))
        finally:
            process.terminate()
            process.wait(PATIENCE)
            os.close(writing)
            os.close(reading)
