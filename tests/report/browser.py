"""A headless Chromium, spoken to by its own protocol over a pair of pipes.

The protocol is Chromium's (DevTools Protocol: JSON messages, each ended by a zero byte,
on file descriptors 3 and 4). Only what the tests of pages ask for is here.
"""

from __future__ import annotations

import base64
import contextlib
import fcntl
import json
import os
import select
import shutil
import subprocess
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any, Final

FLAGS: Final = (
    *("--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run"),
    *("--disable-background-networking", "--disable-component-update", "--disable-sync"),
    *("--hide-scrollbars", "--remote-debugging-pipe"),
)
PATIENCE_S: Final = 60.0
A4: Final = (8.27, 11.69)
LETTER: Final = (8.5, 11.0)


class BrowserFailed(Exception):
    """The browser ended, did not answer in time or refused; says what was asked."""


class Browser:
    """One browser with one page; what it asks the network for is in ``requests``."""

    def __init__(self, to_browser: int, from_browser: int) -> None:
        self._out, self._in = to_browser, from_browser
        self._number = 0
        self._pending = b""
        self._session: str | None = None
        self._loaded = False
        self.requests: list[str] = []
        """Addresses asked for since the page was opened, that of the page first."""
        self.complaints: list[str] = []
        """What the browser logged since then, such as something its policy forbids."""
        target = self.call("Target.createTarget", url="about:blank")["targetId"]
        attached = self.call("Target.attachToTarget", targetId=target, flatten=True)
        self._session = attached["sessionId"]
        for domain in ("Page", "Network", "Log", "Runtime"):
            self.call(f"{domain}.enable")

    def call(self, method: str, **params: Any) -> dict[str, Any]:
        """One command and its result. Raises BrowserFailed."""
        self._number += 1
        message: dict[str, Any] = {"id": self._number, "method": method, "params": params}
        if self._session:
            message["sessionId"] = self._session
        packet = json.dumps(message).encode() + b"\0"
        while packet:
            packet = packet[os.write(self._out, packet) :]
        while True:
            answer = self._message(method)
            if answer.get("id") == self._number:
                if "error" in answer:
                    raise BrowserFailed(f"{method}: {answer['error']}")
                result: dict[str, Any] = answer["result"]
                return result

    def open(self, page: Path, width: int = 1200, scheme: str = "light", media: str = "") -> None:
        """Show a file: so many CSS pixels wide, ``light`` or ``dark``, ``print`` or screen."""
        features = [{"name": "prefers-color-scheme", "value": scheme}]
        self.call("Emulation.setEmulatedMedia", media=media, features=features)
        self.call(
            "Emulation.setDeviceMetricsOverride",
            width=width,
            height=900,
            deviceScaleFactor=1,
            mobile=False,
        )
        self.requests.clear()
        self.complaints.clear()
        self._loaded = False
        self.call("Page.navigate", url=page.resolve().as_uri())
        while not self._loaded:
            self._message("waiting for the page to load")

    def evaluate(self, script: str) -> Any:
        """Value of a JavaScript expression in the page; a promise is waited for."""
        given = {"expression": script, "awaitPromise": True, "returnByValue": True}
        answer = self.call("Runtime.evaluate", **given)
        if "exceptionDetails" in answer:
            raise BrowserFailed(str(answer["exceptionDetails"]))
        return answer["result"].get("value")

    def picture(self, to: Path, height: int | None = None) -> None:
        """The page as PNG, whole or so many CSS pixels from its top."""
        size = self.call("Page.getLayoutMetrics")["cssContentSize"]
        clip = {
            "x": 0,
            "y": 0,
            "scale": 1,
            "width": size["width"],
            "height": min(size["height"], height or size["height"]),
        }
        shot = self.call("Page.captureScreenshot", clip=clip, captureBeyondViewport=True)
        to.write_bytes(base64.b64decode(shot["data"]))

    def printed(self, to: Path, paper: tuple[float, float] = A4) -> None:
        """The page as PDF, on paper of so many inches."""
        given = {"paperWidth": paper[0], "paperHeight": paper[1], "preferCSSPageSize": False}
        pdf = self.call("Page.printToPDF", printBackground=False, **given)
        to.write_bytes(base64.b64decode(pdf["data"]))

    def _message(self, doing: str) -> dict[str, Any]:
        until = time.monotonic() + PATIENCE_S
        while b"\0" not in self._pending:
            if not select.select([self._in], [], [], max(0.0, until - time.monotonic()))[0]:
                raise BrowserFailed(f"{doing}: no answer in {PATIENCE_S:.0f} s")
            more = os.read(self._in, 1 << 20)
            if not more:
                raise BrowserFailed(f"{doing}: the browser has ended")
            self._pending += more
        packet, _, self._pending = self._pending.partition(b"\0")
        message: dict[str, Any] = json.loads(packet)
        self._note(message.get("method", ""), message.get("params", {}))
        return message

    def _note(self, event: str, told: dict[str, Any]) -> None:
        if event == "Network.requestWillBeSent":
            self.requests.append(told["request"]["url"])
        elif event == "Log.entryAdded":
            self.complaints.append(told["entry"]["text"])
        elif event == "Page.loadEventFired":
            self._loaded = True


@contextlib.contextmanager
def browser() -> Iterator[Browser]:
    """A browser of its own, with a profile that is thrown away. Raises FileNotFoundError."""
    program = shutil.which("chromium")
    if program is None:
        raise FileNotFoundError("chromium is not installed (Debian package chromium)")
    to_read, to_write = os.pipe()
    back_read, back_write = os.pipe()
    # Out of the way of 3 and 4, where the browser wants them.
    high = [fcntl.fcntl(end, fcntl.F_DUPFD_CLOEXEC, 20) for end in (to_read, back_write)]
    os.close(to_read)
    os.close(back_write)

    def place() -> None:
        os.dup2(high[0], 3)
        os.dup2(high[1], 4)

    with tempfile.TemporaryDirectory(ignore_cleanup_errors=True) as profile:
        process = subprocess.Popen(
            [program, *FLAGS, f"--user-data-dir={profile}", "about:blank"],
            preexec_fn=place,
            pass_fds=(3, 4),
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
        )
        for end in high:
            os.close(end)
        try:
            yield Browser(to_write, back_read)
        finally:
            os.close(to_write)
            os.close(back_read)
            process.terminate()
            try:
                process.wait(20)
            except subprocess.TimeoutExpired:
                process.kill()
                process.wait()
