"""Commands whose work another program does, ``python -m viewer``: a GL driver that fails takes that one down alone."""

import os
import subprocess
import sys
from pathlib import Path
from typing import NoReturn

import click

_ROOT = Path(__file__).resolve().parents[2]
_WORDS = "vivray.words"


class Drawn(click.Command):
    """A command that keeps the words it was given, to hand them on."""

    def parse_args(self, ctx: click.Context, args: list[str]) -> list[str]:
        """Return what is left of the words after reading the options; they are kept as they came."""
        ctx.meta[_WORDS] = list(args)
        return super().parse_args(ctx, args)


def package_environment() -> dict[str, str]:
    """Return the environment in which ``python -m`` finds the packages of this checkout or installation."""
    before = os.environ.get("PYTHONPATH")
    path = os.pathsep.join([str(_ROOT), *([before] if before else [])])
    return os.environ | {"PYTHONPATH": path}


def draw() -> NoReturn:
    """End the running command with the exit code of the viewer, which is given the same words."""
    context = click.get_current_context()
    command = [sys.executable, "-m", "viewer", str(context.command.name), *context.meta[_WORDS]]
    try:
        code = subprocess.run(command, env=package_environment(), check=False).returncode
    except KeyboardInterrupt:
        code = 130
    if code < 0:
        click.echo(f"drawing was ended by signal {-code}, most likely in the graphics driver; update it", err=True)
        code = 2
    context.exit(code)
