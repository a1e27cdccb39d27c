"""``python -m viewer COMMAND``: what ``vivray`` starts for everything that draws.

Each command has the options of the command of that name in `sim.commands`, which hands its words on.
"""

import sys
from collections.abc import Callable
from importlib import import_module

import click

from sim.analysis.dimming import LevelError
from sim.scene.fault import SceneError
from sim.tally.result import ResultError
from viewer.gl import NoGLError
from viewer.packages import NoPackageError

COMMANDS: dict[str, str] = {name: f"viewer.asked.{name}" for name in ("picture", "view", "export", "compare")}
"""Each command and the function that does it, with the parameters of the command's options."""


def command(name: str) -> click.Command:
    """Return a command of the viewer, which takes what the one in `sim.commands` takes."""
    outside = getattr(import_module(f"sim.commands.{name}"), name)
    module, _, function = COMMANDS[name].rpartition(".")

    def work(**given: object) -> int:
        return _one_line(lambda: getattr(import_module(module), function)(**given))

    return click.Command(name, params=outside.params, callback=work)


def _one_line(work: Callable[[], None]) -> int:
    """Do some work and return the exit code; whatever the user can mend is one line."""
    try:
        work()
    except SceneError as error:
        for line in error.lines:
            click.echo(line, err=True)
        return 2
    except (ResultError, LevelError, NoGLError, NoPackageError, ValueError) as error:
        click.echo(str(error), err=True)
        return 2
    except OSError as error:
        told = str(error) if error.strerror is None else f"{error.filename}: {error.strerror}; name another file"
        click.echo(told, err=True)
        return 2
    return 0


def main(words: list[str] | None = None) -> int:
    """Run a command and return its exit code."""
    asked, *rest = (sys.argv[1:] if words is None else words) or [""]
    if asked not in COMMANDS:
        click.echo(f"'{asked}' is no command of the viewer; there are: {', '.join(COMMANDS)}", err=True)
        return 2
    try:
        return int(command(asked).main(rest, prog_name=f"python -m viewer {asked}", standalone_mode=False) or 0)
    except click.ClickException as error:
        click.echo(error.format_message(), err=True)
        return 2
    except (click.Abort, KeyboardInterrupt):
        return 130


if __name__ == "__main__":
    sys.exit(main())
