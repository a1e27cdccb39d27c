"""What each command of the viewer does with its options. Modules that draw come in after GL was found to work."""

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

import click

from sim.commands.choosing import chosen
from sim.commands.compare import free, loaded, named
from sim.commands.export import target
from sim.report.write import write_whole_bytes
from sim.tally.result import load_result
from viewer.cameras import VIEWS, Camera, View, read_camera
from viewer.gl import has_window, require_gl
from viewer.packages import require

if TYPE_CHECKING:
    from sim.analysis.selection import Selection
    from sim.tally.result import FloatArray
    from viewer.stage import Look

_NO_WINDOW = "no display here to open a window on; make a picture instead: vivray picture RESULT --out FILE.png"
Levels = tuple[tuple[str, float], ...]


def picture(  # noqa: PLR0913  # the options of a command
    *,
    result: Path,
    out: Path,
    quantity: str,
    standard_error: bool,
    lamp: str | None,
    levels: Levels,
    camera: str | Path,
    size: tuple[int, int],
    cut: tuple[int, float] | None,
    turn: int | None,
    field: bool,
    photons: int | None,
    scene: Path | None,
    force: bool,
) -> None:
    """Make a picture, or a turn of them, and print the path of each."""
    kinds = (".png",) if turn is None else (".png", ".gif")
    if out.suffix.lower() not in kinds:
        raise click.BadParameter(f"{out} does not end in {' or '.join(kinds)}", param_hint="--out")
    shown = chosen(load_result(result), quantity, standard_error, lamp, levels)
    require_gl()
    from viewer import snapshot
    from viewer.field import grids

    look = replace(_look(camera, cut), field=field, ways=_ways(shown, photons, scene))
    if field and not grids(shown):
        click.echo("no grid sensor of two by two cells or more in this result: no field is drawn", err=True)
    if turn is None:
        snapshot.picture(shown, out, look, size, force=force)
        paths = [out]
    else:
        paths = snapshot.turn(shown, out, look, turn, size, force=force)
    for path in paths:
        click.echo(str(path))


def export(  # noqa: PLR0913  # the options of a command
    *,
    result: Path,
    kind: str,
    out: Path | None,
    quantity: str,
    standard_error: bool,
    lamp: str | None,
    levels: Levels,
    force: bool,
) -> None:
    """Write a file for other programs, and print its path."""
    path = target(result, out, kind, force)
    shown = chosen(load_result(result), quantity, standard_error, lamp, levels)
    if kind == "html":
        require_gl()
        from viewer.web import web_page

        write_whole_bytes(path, web_page(shown).encode())
    elif kind == "glb":
        from viewer.glb import glb

        write_whole_bytes(path, glb(shown))
    else:
        from viewer import meshes

        (meshes.write_vtp if kind == "vtp" else meshes.write_vtm)(shown, path)
    click.echo(str(path))


def compare(  # noqa: PLR0913  # the options of a command
    *,
    first: Path,
    second: Path,
    out: Path,
    model: bool,
    camera: str | Path,
    quantity: str,
    as_json: bool,
    force: bool,
) -> None:
    """Make a picture of two models and their difference, and print its path; tables are not this program's."""
    free(out, (".png",), force)
    compared = loaded(first, second, quantity)
    require_gl()
    from viewer.side_by_side import models

    models(compared, named(first, second), out, _look(camera, None).camera)
    click.echo(str(out))


def view(  # noqa: PLR0913  # the options of a command
    *,
    result: Path,
    quantity: str,
    standard_error: bool,
    lamp: str | None,
    levels: Levels,
    camera: str | Path,
    size: tuple[int, int],
    page: bool,
    port: int,
) -> None:
    """Open a window, or serve a page."""
    shown = chosen(load_result(result), quantity, standard_error, lamp, levels)
    if page:
        require("trame", "trame_vtk")
        require_gl()
        from viewer.live_page import serve

        serve(shown, _look(camera, None), port, _opened)
        return
    if not has_window(require_gl()):
        raise ValueError(_NO_WINDOW)
    from viewer.window import show

    show(shown, _look(camera, None), size, result.parent)


def _ways(shown: "Selection", photons: int | None, scene: Path | None) -> "tuple[FloatArray, ...]":
    """Return the ways of some photons through the scene that a result came from."""
    if (photons is None) != (scene is None):
        raise click.UsageError("--photons and --scene go together: the ways are traced in the scene's file")
    if photons is None or scene is None:
        return ()
    from sim.commands.checking import surveyed
    from sim.simulate.photon_paths import photon_paths

    seen = surveyed(scene)
    if seen.scene.digest != shown.result.meta.digest:
        raise ValueError(f"{scene}: not the scene that this result was traced from, or changed since; give that one")
    return tuple(way.corners for way in photon_paths(seen, photons, shown.result.meta.seed))


def _opened(address: str) -> None:
    click.echo(f"open {address} in a browser on this machine; end with Ctrl-C")


def _look(camera: str | Path, cut: tuple[int, float] | None) -> "Look":
    from viewer.cutting import Cut
    from viewer.stage import Look

    seen: View | Camera = (
        read_camera(camera) if isinstance(camera, Path) else next(view for view in VIEWS if view == camera)
    )
    return Look(seen, None if cut is None else Cut(*cut))
