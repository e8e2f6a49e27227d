"""Figures of runs, drawn into a directory."""

from collections.abc import Sequence
from pathlib import Path

from sim.cli.output import tell
from sim.errors import StoreError
from sim.store.outputs import make_directory
from sim.store.stored import StoredRun


def draw_figures(runs: Sequence[StoredRun], directory: Path) -> list[Path]:
    """Draw the figures of one run, or overlays of several, and say where they are.

    Raises
    ------
    StoreError
        When the figures cannot be written.
    """
    from plots import draw_overlay, draw_run

    make_directory(directory)
    try:
        paths = draw_run(runs[0], directory) if len(runs) == 1 else draw_overlay(list(runs), directory)
    except OSError as error:
        raise StoreError(f"{directory}: figures cannot be written ({error.strerror or error})",
                         "Check the directory, its permissions and the free space.") from None
    for path in paths:
        tell(f"drawn: {path}")
    return paths
