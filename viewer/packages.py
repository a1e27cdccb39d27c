"""Packages that only the viewer's pages need: the extra ``viewer`` of the installation."""

from importlib.util import find_spec


class NoPackageError(RuntimeError):
    """A machine without the packages of the pages; one line that says what to install."""


def require(*names: str) -> None:
    """Do nothing where packages are installed.

    Raises
    ------
    NoPackageError
        If one is missing.
    """
    missing = [name for name in names if find_spec(name) is None]
    if missing:
        raise NoPackageError(f"{missing[0]} is not installed, which pages need; install: pip install 'vivray[viewer]'")
