"""What goes to stdout and what to stderr: with --json stdout is one JSON object, failures included."""

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any

import click

from sim.store.jsontext import to_json

TICKS = 1000
ASKED, DONE = "stepout.json asked for", "stepout.json printed"


def note_json(context: click.Context, option: click.Parameter, wanted: bool) -> bool:
    """Remember that stdout belongs to a JSON object."""
    context.meta[ASKED] = wanted
    return wanted


def check_text(context: click.Context, option: click.Parameter, texts: tuple[str, ...]) -> tuple:
    """Refuse what the terminal sent in another encoding: it could not be stored."""
    try:
        "".join(texts).encode()
    except UnicodeEncodeError:
        raise click.BadParameter("holds bytes that are no text: write UTF-8.", context, option) from None
    return texts


json_option = click.option("--json", "as_json", is_flag=True, callback=note_json, is_eager=True,
                           help="Print one JSON object and nothing else.")
set_option = click.option("--set", "overrides", multiple=True, metavar="KEY=VALUE", callback=check_text,
                          help="Replace a value of the case: umbilical.length_km=40.  May be repeated.")


def emit_json(value: dict[str, Any]) -> None:
    """Print the JSON object of a command; a command prints one."""
    click.get_current_context().meta[DONE] = True
    click.echo(to_json(value, indent=2))


def emit_failure(error: BaseException, exit_code: int) -> None:
    """Print the JSON object of a command that failed, if JSON was asked for and none was printed yet.

    Its key `error` tells what happened; the summary of what was computed until then, if any, is beside it.
    """
    meta = click.get_current_context().meta
    if meta.get(ASKED) and not meta.get(DONE):
        told = {"exit_code": exit_code, "message": str(error) or "interrupted",
                "mistakes": getattr(error, "mistakes", []), "hint": getattr(error, "hint", None)}
        emit_json({**(getattr(error, "summary", None) or {}), "error": told})


def tell(message: str) -> None:
    """Talk to the person at the terminal, on stderr."""
    click.echo(message, err=True)


def warn_incomplete(runs: list) -> None:
    """Say which of the runs did not reach their end."""
    for run in runs:
        if not run.complete:
            tell(f"warning: {run.label} is an incomplete run: {run.failure}")


@contextmanager
def show_progress(label: str = "simulating") -> Iterator[Callable[[float], None] | None]:
    """A bar on stderr when that is a terminal, else nothing."""
    if not sys.stderr.isatty():
        yield None
        return
    with click.progressbar(length=TICKS, label=label, file=sys.stderr) as bar:
        yield lambda share: bar.update(max(0, min(TICKS, int(TICKS * share)) - bar.pos))
