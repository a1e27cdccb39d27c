"""Mesh files are written whole, or it is said that they are not."""

from collections.abc import Callable
from pathlib import Path

import pytest
import pyvista as pv

from sim.analysis.selection import Selection
from tests.support.synthetic_result import terrarium
from viewer.meshes import write_vtm, write_vtp


@pytest.mark.parametrize("kind", ["vtp", "vtm"])
def test_a_mesh_that_the_disk_took_only_a_part_of_is_refused(
    kind: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    shown, path = Selection(terrarium(replicates=4)), tmp_path / f"mesh.{kind}"
    write = write_vtp if kind == "vtp" else write_vtm
    for mesh in (pv.PolyData, pv.MultiBlock):
        monkeypatch.setattr(mesh, "save", _half_saved(mesh.save))
    with pytest.raises(OSError, match=rf"the disk may be full: '.*mesh\.{kind}'"):
        write(shown, path)
    assert list(tmp_path.iterdir()) == []


def _half_saved(save: Callable[..., None]) -> Callable[..., None]:
    def half(mesh: object, path: Path, *_: object, **__: object) -> None:
        save(mesh, path)
        path.write_bytes(path.read_bytes()[:-20])

    return half
