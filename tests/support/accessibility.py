"""What axe-core finds wrong with a page in a browser. Its script lies in the installed package; nothing is fetched."""

from importlib.util import find_spec
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

if TYPE_CHECKING:
    from playwright.sync_api import Page

_PACKAGE = "axe_playwright_python"


def axe_findings(page: "Page") -> tuple[list[str], int]:
    """Return each violation of the page with its place in one line, and how many rules it passes."""
    found = find_spec(_PACKAGE)
    if found is None or found.origin is None:
        pytest.skip(f"{_PACKAGE}, which brings axe-core, is not installed")
    page.add_script_tag(content=Path(found.origin).with_name("axe.min.js").read_text(encoding="utf-8"))
    told = page.evaluate("async () => await axe.run(document)")
    violations = [f"{one['id']}: {node['target']}" for one in told["violations"] for node in one["nodes"]]
    return violations, len(told["passes"])
