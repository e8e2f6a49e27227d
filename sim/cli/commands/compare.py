"""`stepout compare`: what differs between runs, in inputs and in results."""

from pathlib import Path

import click

from sim.cli.output import emit_json, json_option, warn_incomplete


@click.command("compare")
@click.argument("run_files", metavar="RUN RUN...", nargs=-1, required=True,
                type=click.Path(exists=True, dir_okay=False, path_type=Path))
@click.option("--plots", type=click.Path(path_type=Path), metavar="DIR",
              help="Draw overlays into this directory.")
@click.option("--tolerance", type=click.FloatRange(min=0.0), default=1e-6, show_default=True,
              help="Relative difference up to which results are the same.")
@json_option
def command(run_files: tuple[Path, ...], plots: Path | None, tolerance: float, as_json: bool) -> None:
    """Show what differs between two or more runs; the first RUN is the reference."""
    if len(run_files) < 2:
        raise click.UsageError("Give two runs or more.")
    from sim.store.compare import compare_runs
    from sim.store.outputs import check_directory
    from sim.store.read import open_runs

    if plots is not None:
        check_directory(plots)
    runs = open_runs(run_files)
    warn_incomplete(runs)
    differences = compare_runs(runs, tolerance)
    if plots is not None:
        from sim.cli.drawing.run import draw_figures

        draw_figures(runs, plots)
    if as_json:
        emit_json(differences)
        return
    from sim.report.differences import write_differences

    click.echo(write_differences(differences))
