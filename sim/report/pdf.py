"""A page as PDF, by whatever this machine has for it: the package weasyprint, or a Chromium that is installed."""

import os
import shutil
import subprocess
import tempfile
import warnings
from importlib.util import find_spec
from pathlib import Path

BROWSERS = ("chromium", "chromium-browser", "google-chrome", "google-chrome-stable")
_PATIENCE_S = 120.0
_MISSING = (
    "nothing here makes a PDF; install the package with pip install 'vivray[pdf]' (it needs the system's Pango, "
    "libpango-1.0-0 and libpangoft2-1.0-0 in Debian and Ubuntu) or a Chromium, or print report.html from a browser"
)


class NoPdfError(RuntimeError):
    """A machine that makes no PDF; one line that says what to install."""


def pdf_of(page: str) -> bytes:
    """Return a page as PDF.

    Parameters
    ----------
    page : str
        HTML that asks for nothing outside itself.

    Raises
    ------
    NoPdfError
        If neither weasyprint nor a browser is there, or the browser fails.
    """
    made = _by_weasyprint(page)
    return _by_browser(page) if made is None else made


def _by_weasyprint(page: str) -> bytes | None:
    """Return the PDF, or None where the package or the libraries it loads are not there."""
    if find_spec("weasyprint") is None:
        return None
    try:
        import weasyprint
    except OSError:  # Pango is missing
        return None
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # of fonts that the system lacks, which nobody asked for by name
        inside = weasyprint.urls.URLFetcher(allowed_protocols={"data"})
        made: bytes = weasyprint.HTML(string=page, url_fetcher=inside).write_pdf()
    return made


def _by_browser(page: str) -> bytes:
    browser = next((found for name in BROWSERS if (found := shutil.which(name))), None)
    if browser is None:
        raise NoPdfError(_MISSING)
    with tempfile.TemporaryDirectory(prefix="vivray-") as folder:
        source, made = Path(folder, "page.html"), Path(folder, "page.pdf")
        source.write_text(page, encoding="utf-8")
        options = ["--headless", "--disable-gpu", "--no-pdf-header-footer", f"--user-data-dir={folder}/profile"]
        if hasattr(os, "geteuid") and os.geteuid() == 0:
            options.append("--no-sandbox")  # which a browser run by the superuser insists on; the page is our own
        command = [browser, *options, f"--print-to-pdf={made}", source.as_uri()]
        try:
            subprocess.run(command, capture_output=True, timeout=_PATIENCE_S, check=True)
            return made.read_bytes()
        except (subprocess.SubprocessError, OSError):
            raise NoPdfError(f"{browser} made no PDF; {_MISSING}") from None
