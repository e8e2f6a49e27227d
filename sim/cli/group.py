"""The group of subcommands: loads them late, and turns every error into a message and an exit code."""

import errno
import sys
from importlib import import_module

import click

from sim.cli.output import emit_failure, tell
from sim.errors import StepoutError

COMMANDS = {
    "run": "Simulate a case, judge it and print the verdict.",
    "check": "Validate a case and show every value in force.",
    "scan": "Find resonances, and where the harmonics of a drive meet them.",
    "window": "Find the start frequencies and boosts within all limits of a drive.",
    "new": "Write a commented starter case.",
    "schema": "Write the JSON Schema of the case file.",
    "plot": "Draw the figures of one run, or overlays of several.",
    "compare": "Show what differs between runs.",
}
INTERRUPTED = 130


class CommandGroup(click.Group):
    """Finds a subcommand in the module of its name and runs it under one error policy."""

    def __init__(self, *arguments, **settings):
        super().__init__(*arguments, context_settings={"help_option_names": ["-h", "--help"]}, **settings)
        click.version_option(package_name="stepout", prog_name="stepout")(self)

    def list_commands(self, context: click.Context) -> list[str]:
        """Names of the subcommands in the order of their use."""
        return list(COMMANDS)

    def get_command(self, context: click.Context, name: str) -> click.Command | None:
        """The subcommand, its module loaded now."""
        return import_module(f"sim.cli.commands.{name}").command if name in COMMANDS else None

    def format_commands(self, context: click.Context, formatter: click.HelpFormatter) -> None:
        """List the subcommands without loading them."""
        with formatter.section("Commands"):
            formatter.write_dl(list(COMMANDS.items()))

    def invoke(self, context: click.Context):
        """Run the subcommand; whatever it raises on purpose becomes a message on stderr and an exit code."""
        accept_any_text()
        try:
            return super().invoke(context)
        except StepoutError as error:
            tell_error(error)
            emit_failure(error, error.exit_code)
            context.exit(error.exit_code)
        except OSError as error:
            if error.errno == errno.EPIPE:
                raise
            tell(f"error: {error}")
            context.exit(StepoutError.exit_code)
        except KeyboardInterrupt as stop:
            tell("interrupted")
            emit_failure(stop, INTERRUPTED)
            context.exit(INTERRUPTED)


def tell_error(error: StepoutError) -> None:
    """Message and hint of an error, on stderr."""
    tell(f"error: {error}")
    if error.hint:
        tell(error.hint)


def accept_any_text() -> None:
    """Let characters that the terminal cannot show be escaped rather than stop the program."""
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="backslashreplace")
