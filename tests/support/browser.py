"""Chromium from the system, driven without a display; it downloads nothing."""

import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

if TYPE_CHECKING:
    from playwright.sync_api import Page

CHROMIUM = next(
    (found for name in ("chromium", "chromium-browser", "google-chrome") if (found := shutil.which(name))), ""
)
_ARGUMENTS = ["--no-sandbox", "--use-angle=swiftshader", "--enable-unsafe-swiftshader", "--ignore-gpu-blocklist"]

needs_chromium = pytest.mark.skipif(not CHROMIUM, reason="no Chromium is installed")


@dataclass
class Opened:
    """A page in a browser, what it asked of others, and what went wrong in it."""

    page: "Page"
    outside: list[str] = field(default_factory=list)
    errors: list[str] = field(default_factory=list)


@contextmanager
def opened(address: str, inside: tuple[str, ...] = ("file:", "data:", "blob:")) -> Iterator[Opened]:
    """Open an address in a window of 1280 by 900; requests that start otherwise than `inside` are counted."""
    playwright = pytest.importorskip("playwright.sync_api")
    with playwright.sync_playwright() as driver:
        browser = driver.chromium.launch(executable_path=CHROMIUM, args=_ARGUMENTS)
        try:
            page = browser.new_page(viewport={"width": 1280, "height": 900})
            found = Opened(page)
            page.on("request", lambda asked: None if asked.url.startswith(inside) else found.outside.append(asked.url))
            page.on("pageerror", lambda error: found.errors.append(str(error)))
            page.goto(address)
            yield found
        finally:
            browser.close()


def file_address(path: Path) -> str:
    """Return the address of a file on disk."""
    return path.resolve().as_uri()
