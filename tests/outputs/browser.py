"""Chromium for the tests of the map: started once, offline, and every page watched for what it must not do."""

from __future__ import annotations

import shutil
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

ARGUMENTS = [
    "--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
    "--disable-background-networking", "--disable-component-update", "--disable-sync",
]  # fmt: skip

WIDTHS = {"desktop": (1280, 800), "tablet": (820, 1100), "phone": (390, 844)}


def chromium() -> str:
    """Where Chromium is; the test that needs it fails with what to do when it is not there."""
    found = shutil.which("chromium") or shutil.which("chromium-browser")
    assert found, "Chromium is needed for the tests of the map: on Debian, apt-get install chromium"
    return found


@dataclass
class Watched:
    """A page with everything it asked for and complained of."""

    page: Any
    requests: list[str] = field(default_factory=list)
    complaints: list[str] = field(default_factory=list)

    def listen(self) -> None:
        """Note requests, failed requests, console messages, page errors and dialogs."""
        self.page.on("request", lambda request: self.requests.append(request.url))
        self.page.on("requestfailed", lambda request: self.complaints.append(f"failed: {request.url}"))
        self.page.on("console", lambda message: self.complaints.append(f"console: {message.text}"))
        self.page.on("pageerror", lambda error: self.complaints.append(f"error: {error}"))
        self.page.on("dialog", self._dialog)

    def _dialog(self, dialog: Any) -> None:
        self.complaints.append(f"dialog: {dialog.message}")
        dialog.dismiss()

    def open(self, path: Path, fragment: str = "") -> Watched:
        """Open the file and wait until it says it is ready."""
        self.page.goto(path.as_uri() + fragment)
        self.page.locator("body.ready").wait_for(timeout=10_000)
        return self

    def outside(self) -> list[str]:
        """Requests for anything but the file and what stands in it."""
        return [url for url in self.requests if not url.startswith(("file:", "data:", "blob:"))]
