"""`stepout plot`: the figures of one run, or overlays of several."""

from pathlib import Path

import click

from sim.cli.output import warn_incomplete


@click.command("plot")
@click.argument("run_files", metavar="RUN...", nargs=-1, required=True,
                type=click.Path(exists=True, dir_okay=False, path_type=Path))
@click.option("--out", type=click.Path(path_type=Path), metavar="DIR",
              help="Directory for the figures; by default one beside the first RUN, named after it.")
def command(run_files: tuple[Path, ...], out: Path | None) -> None:
    """Draw the standard figures of one RUN, or overlays of several."""
    from sim.cli.drawing.run import draw_figures
    from sim.store.outputs import check_directory
    from sim.store.read import open_runs

    first = run_files[0]
    directory = out or first.with_name(f"{first.stem}_{'figures' if len(run_files) == 1 else 'overlays'}")
    check_directory(directory)
    runs = open_runs(run_files)
    warn_incomplete(runs)
    for path in draw_figures(runs, directory):
        click.echo(path)
