"""`stepout scan`: impedances and resonances over frequency, and where a drive's harmonics meet them."""

from pathlib import Path
from typing import Any

import click

from sim.cli.output import emit_json, json_option, set_option

ORDERS = "5,7,11,13,17,19,23,25"        # six-pulse orders, 6 n - 1 and 6 n + 1
MOST_ORDER = 200


def read_orders(context: click.Context, option: click.Parameter, text: str) -> tuple[int, ...]:
    """Harmonic orders from their list; refuses all that are none at once."""
    parts = [part.strip() for part in text.split(",")]
    wrong = [part for part in parts if not is_order(part)]
    if wrong:
        raise click.BadParameter(f"{', '.join(map(repr, wrong))}: give whole numbers from 2 to {MOST_ORDER}, separated "
                                 "by commas; orders that three divides are equal in all three phases and drive no "
                                 "current between them.", context, option)
    return tuple(sorted({int(part) for part in parts}))


def is_order(text: str) -> bool:
    """Whether a text is a harmonic order of a balanced voltage."""
    return text.isascii() and text.isdigit() and 2 <= int(text) <= MOST_ORDER and int(text) % 3 != 0


@click.command("scan")
@click.argument("case_file", metavar="CASE", type=click.Path(path_type=Path))
@click.option("--out", type=click.Path(path_type=Path), metavar="SCAN.h5",
              help="Store impedances, gains and voltages along the cables in this file.")
@click.option("--plots", type=click.Path(path_type=Path), metavar="DIR",
              help="Draw the figures into this directory.")
@json_option
@set_option
@click.option("--slip", type=click.FloatRange(-1.0, 2.0), metavar="PU",
              help="Slip of all motors, 1 at standstill; by default each turns at its rated speed.")
@click.option("--orders", default=ORDERS, callback=read_orders, metavar="K,K,...", show_default=True,
              help="Harmonic orders of the drives.")
@click.option("--harmonic-pct", type=click.FloatRange(0.0, 200.0), metavar="PCT",
              help="Harmonic voltage behind a drive's impedance, of its fundamental; by default 1/k for order k.")
def command(case_file: Path, out: Path | None, plots: Path | None, as_json: bool, overrides: tuple[str, ...],
            slip: float | None, orders: tuple[int, ...], harmonic_pct: float | None) -> None:
    """Scan CASE over frequency without simulating it: impedances, resonances, harmonics of its drives.

    Switches are in their first position and drives pulse.  A crossing is where a harmonic order meets a resonance
    within a drive's range of frequencies; one with a gain above 3 is marked.
    """
    from sim.case import load_case

    case = load_case(case_file, overrides)
    check_targets(out, plots)
    from sim.studies.scan.study import describe_scan, scan

    found = scan(case, slip, orders, None if harmonic_pct is None else harmonic_pct / 100.0)
    summary = describe_scan(found)
    keep(found, summary, out, plots)
    if as_json:
        emit_json(summary)
        return
    from sim.report.scan import write_scan_text

    click.echo(write_scan_text(summary))


def check_targets(out: Path | None, plots: Path | None) -> None:
    """Make sure that results can be written, before anything is computed."""
    if out is not None:
        from sim.store.scans import check_scan_target

        check_scan_target(out)
    if plots is not None:
        from sim.store.outputs import check_directory

        check_directory(plots)


def keep(found: Any, summary: dict, out: Path | None, plots: Path | None) -> None:
    """Store and draw where asked."""
    if out is not None:
        from sim.store.scans import write_scan

        write_scan(out, found, summary)
    if plots is not None:
        from sim.cli.drawing.scan import draw_scan

        draw_scan(found, summary, plots)
