"""The command line, ``vivray``: which commands there are, and how they end.

Exit codes: 0 done; 1 done, but what was asked for is not met; 2 bad input; 130 interrupted.
"""

import errno
import gc
from importlib import import_module, metadata

import click

COMMANDS: dict[str, str] = {
    "check": "sim.commands.check",
    "run": "sim.commands.run",
    "fixture": "sim.commands.fixture",
    "report": "sim.commands.report",
    "describe": "sim.commands.describe",
    "picture": "sim.commands.picture",
    "view": "sim.commands.view",
    "export": "sim.commands.export",
    "compare": "sim.commands.compare",
}
"""Each command and the module that holds it as an object of the same name; it is imported when it is asked for."""


class _Commands(click.Group):
    """A group that loads a command when it is used, and ends in one line for each fault of the input."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        if cmd_name not in COMMANDS:
            return None
        command = getattr(import_module(COMMANDS[cmd_name]), cmd_name)
        assert isinstance(command, click.Command), f"{COMMANDS[cmd_name]} holds no command {cmd_name}"
        return command

    def invoke(self, ctx: click.Context) -> object:
        from sim.scene.fault import SceneError

        try:
            return super().invoke(ctx)
        except SceneError as error:
            for line in error.lines:
                click.echo(line, err=True)
            ctx.exit(2)
        except click.UsageError as error:
            if isinstance(error, click.MissingParameter):  # whose choices stand on a line each
                raise click.UsageError(" ".join(error.format_message().split())) from None
            error.ctx = None  # or two lines of usage would stand before the one that tells what is wrong
            raise
        except OSError as error:
            if error.errno == errno.EPIPE or error.strerror is None:
                raise
            where = "" if error.filename is None else f"{error.filename}: "
            click.echo(f"{where}{error.strerror}; make room there, or name another place", err=True)
            ctx.exit(2)
        except MemoryError:
            click.echo("there is not enough memory for so much; raise receiver_size or widen bands", err=True)
            ctx.exit(2)
        except KeyboardInterrupt:
            click.echo("interrupted", err=True)
            ctx.exit(130)


def _version() -> str:
    try:
        return metadata.version("vivray")
    except metadata.PackageNotFoundError:
        return "from a checkout that is not installed"


@click.group(cls=_Commands, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(_version(), prog_name="vivray")
def vivray() -> None:
    """Ray-traced ultraviolet light in reptile enclosures.

    A scene is a TOML file. Check it first; it says in one line each what is wrong.
    """


def main() -> None:
    """Run the command line."""
    # A short run makes so many objects that looking for garbage among them takes a tenth of its time.
    gc.set_threshold(500_000, 50, 50)
    try:
        vivray(prog_name="vivray")
    finally:
        gc.freeze()  # nor among all that ends with the program: that took a third of a second
