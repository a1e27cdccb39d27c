import pytest

from viewer.packages import NoPackageError, require


def test_what_is_there_is_no_matter() -> None:
    require("numpy", "pyvista")


def test_what_is_missing_is_named_with_what_to_install() -> None:
    with pytest.raises(NoPackageError, match=r"no_such_package is not installed.*pip install 'vivray\[viewer\]'"):
        require("numpy", "no_such_package")
