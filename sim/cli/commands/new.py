"""`stepout new`: a commented case to start from."""

from importlib.resources import files
from pathlib import Path

import click

from sim.cli.output import tell

KINDS = {
    "host-drive": "a pump on a drive at the host, through transformers and cable",
    "far-drive": "drives at the far end of a cable of fixed frequency",
    "direct": "a motor closed direct onto a long feeder",
    "downhole": "a downhole pump on a long shaft and a host drive",
}


def check_kind(context: click.Context, argument: click.Parameter, given: str) -> str:
    """Refuse an unknown kind with the nearest known one."""
    if given not in KINDS:
        from sim.case.read.messages import ask

        raise click.BadParameter(f"{given}: no such kind of case. {ask(given, KINDS, 'kinds')}", context, argument)
    return given


def tell_kinds() -> str:
    """The kinds for the help page, one a line."""
    return "\n".join(["\b", "KIND is one of", *(f"  {kind:<11} {what}" for kind, what in KINDS.items())])


@click.command("new", epilog=tell_kinds())
@click.argument("kind", metavar="KIND", callback=check_kind)
@click.option("--out", type=click.Path(path_type=Path), metavar="FILE",
              help="Write to this file, not to stdout; a file that exists is left alone.")
def command(kind: str, out: Path | None) -> None:
    """Write a commented starter case of some KIND: replace its numbers by your own."""
    text = read_starter(kind)
    if out is None:
        click.echo(text, nl=False)
        return
    if out.exists() or out.is_symlink():
        raise click.UsageError(f"{out}: exists already and is left as it is. Give another name or remove it first.")
    from sim.store.outputs import write_text

    write_text(out, text)
    tell(f"written: {out}; fill in your numbers, then: stepout check {out}")


def read_starter(kind: str) -> str:
    """Text of the starter case of a kind."""
    return (files("sim.cli") / "starters" / f"{kind}.toml").read_text(encoding="utf-8")
