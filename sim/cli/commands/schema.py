"""`stepout schema`: the JSON Schema of the case file."""

import json
from pathlib import Path

import click

from sim.cli.output import tell


@click.command("schema")
@click.option("--out", type=click.Path(path_type=Path), metavar="FILE",
              help="Write to this file, not to stdout.")
def command(out: Path | None) -> None:
    """Write the JSON Schema of the case file, with unit, range, default and basis of every key."""
    from sim.case import case_schema

    text = json.dumps(case_schema(), indent=2, allow_nan=False)
    if out is None:
        click.echo(text)
        return
    from sim.store.outputs import write_text

    write_text(out, text + "\n")
    tell(f"written: {out}")
