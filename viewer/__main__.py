"""``python -m viewer``: look at a result, or make a picture of it."""

import sys
from pathlib import Path

import click

from sim.spectra.weighting import WEIGHTINGS
from sim.tally.result import Result, ResultError, load_result
from viewer.cameras import VIEWS, View
from viewer.gl import NoGLError, has_window, require_gl

_NO_WINDOW = "no display here to open a window on; make a picture instead: --picture FILE.png"


class Size(click.ParamType[tuple[int, int]]):
    """Width and height in pixels: ``1200x800``."""

    name = "size"

    def convert(self, value: object, param: click.Parameter | None, ctx: click.Context | None) -> tuple[int, int]:
        """Return width and height [px]."""
        width, _, height = str(value).lower().replace("×", "x").partition("x")
        if not (width.strip().isdecimal() and height.strip().isdecimal()):
            self.fail(f"'{value}' is not a size in pixels; write one such as 1200x800", param, ctx)
        return int(width), int(height)


@click.command(context_settings={"help_option_names": ["-h", "--help"]})
@click.argument("result", type=click.Path(path_type=Path))
@click.option("--picture", type=click.Path(path_type=Path, dir_okay=False), help="Make this PNG; open no window.")
@click.option("--quantity", type=click.Choice(list(WEIGHTINGS)), default="uvi", show_default=True, help="What to show.")
@click.option("--camera", type=click.Choice(VIEWS), default="corner", show_default=True, help="Where to look from.")
@click.option("--size", type=Size(), default="1200x800", show_default=True, help="Of the picture or window, in pixels.")
def view(result: Path, picture: Path | None, quantity: str, camera: View, size: tuple[int, int]) -> None:
    """Look at a RESULT, a result.npz that `vivray run` wrote, in three dimensions.

    Opens a window to turn the model around in, or with --picture writes a picture.
    """
    if picture is not None and picture.suffix.lower() != ".png":
        raise click.BadParameter(
            f"{picture} does not end in .png, the one format that is written", param_hint="--picture"
        )
    try:
        loaded = load_result(result)
        window = has_window(require_gl())
        if picture is None and not window:
            raise ValueError(_NO_WINDOW)
        _draw(loaded, picture, quantity, camera, size)
    except (ResultError, NoGLError, ValueError) as error:
        click.echo(str(error), err=True)
        click.get_current_context().exit(2)
    except OSError as error:
        click.echo(f"{picture}: {error.strerror}; name a file that can be written", err=True)
        click.get_current_context().exit(2)


def _draw(result: Result, picture: Path | None, quantity: str, camera: View, size: tuple[int, int]) -> None:
    """Make the picture, or show the window; pyvista comes in here, after GL has been chosen."""
    if picture is None:
        from viewer.window import show

        show(result, quantity, size, camera)
        return
    from viewer.snapshot import picture as make

    make(result, picture, quantity, size, camera)
    click.echo(str(picture))


def main() -> int:
    """Run the command and return its exit code; whatever is wrong with the call is one line."""
    try:
        return int(view.main(prog_name="python -m viewer", standalone_mode=False) or 0)
    except click.ClickException as error:
        click.echo(error.format_message(), err=True)
        return 2
    except (click.Abort, KeyboardInterrupt):
        return 130


if __name__ == "__main__":
    sys.exit(main())
