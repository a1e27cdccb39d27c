"""``vivray check``: whether scene files say something that can be traced."""

import json
from pathlib import Path
from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:
    from sim.scene.check import Survey


@click.command()
@click.argument("scenes", nargs=-1, type=click.Path(path_type=Path), metavar="SCENE...")
@click.option("--schema", is_flag=True, help="Print the JSON Schema of scene files, for editors.")
def check(scenes: tuple[Path, ...], schema: bool) -> None:
    """Check scene files without tracing them.

    Each fault is one line on stderr: file, line, key, what is wrong and what would be right. Exit code 2 if any
    file has a fault; warnings alone leave it at 0.
    """
    if schema:
        from sim.scene.schema import scene_schema

        click.echo(json.dumps(scene_schema(), indent=2, ensure_ascii=False))
        return
    if not scenes:
        raise click.UsageError("give at least one scene file, or --schema")
    passed = [_passes(path) for path in scenes]
    if not all(passed):
        click.get_current_context().exit(2)


def _passes(path: Path) -> bool:
    """Check one file, print what there is to say, and return whether it can be traced."""
    from sim.commands.checking import surveyed
    from sim.scene.fault import SceneError

    try:
        seen = surveyed(path)
    except SceneError as error:
        for line in error.lines:
            click.echo(line, err=True)
        return False
    click.echo(f"{path}: ok — {_summary(seen)}")
    for note in seen.mesh_notes():
        click.echo(f"{path}: {note}")
    return True


def _summary(seen: "Survey") -> str:
    scene = seen.scene
    counts = {
        "lamp": len(scene.lamps),
        "reflector": len(scene.reflectors),
        "part": len(scene.parts),
        "surface": len(seen.surfaces),
        "receiver": seen.receivers,
        "sensor": len(scene.sensors),
        "zone": len(scene.zones),
    }
    return ", ".join(f"{count} {noun}{'' if count == 1 else 's'}" for noun, count in counts.items() if count)
