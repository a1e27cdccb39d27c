"""Files that appear whole or not at all."""

import os
from pathlib import Path


def write_bytes(path: Path, content: bytes) -> None:
    """Write a file so that it appears whole or not at all."""
    partial = path.with_name(f".{path.name}.{os.getpid()}.part")
    try:
        partial.write_bytes(content)
        os.replace(partial, path)
    finally:
        partial.unlink(missing_ok=True)
