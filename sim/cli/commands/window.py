"""`stepout window`: the start frequencies and boosts with which a drive breaks its motor away within all limits."""

from pathlib import Path

import click

from sim.cli.output import emit_json, json_option, set_option, show_progress


@click.command("window")
@click.argument("case_file", metavar="CASE", type=click.Path(path_type=Path))
@click.option("--plots", type=click.Path(path_type=Path), metavar="DIR", help="Draw the map into this directory.")
@json_option
@set_option
@click.option("--confirm/--no-confirm", default=True, show_default=True,
              help="Try the recommended setting, and settings beyond a limit, in the time domain.")
def command(case_file: Path, plots: Path | None, as_json: bool, overrides: tuple[str, ...], confirm: bool) -> None:
    """Find the start window of every drive of CASE: start frequency and boost against torque, current and flux.

    The map is one of phasors at standstill, with cores that saturate.  Where there is no setting within all limits,
    what would open a window is told: a drive with more current, a core with more flux, a larger conductor, less
    breakaway torque.
    """
    from sim.case import load_case

    case = load_case(case_file, overrides)
    if plots is not None:
        from sim.store.outputs import check_directory

        check_directory(plots)
    from sim.studies.window.study import find_windows
    from sim.studies.window.summary import describe_windows

    with show_progress("trying settings") as progress:
        windows = find_windows(case, confirm=confirm, progress=progress)
    summary = describe_windows(case, windows)
    if plots is not None:
        from sim.cli.drawing.window import draw_windows

        draw_windows(case, windows, plots)
    if as_json:
        emit_json(summary)
        return
    from sim.report.window import write_window_text

    click.echo(write_window_text(summary))
