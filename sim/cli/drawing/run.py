"""Figures, drawn into a directory."""

from collections.abc import Callable, Iterable, Sequence
from pathlib import Path
from typing import Any

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


def save_figures(jobs: Iterable[tuple[Sequence[str], Callable[[], Any]]], directory: Path) -> list[Path]:
    """Draw figures one after the other and say where they are.

    Parameters
    ----------
    jobs : iterable
        Parts of each file's name, and what draws the figure.
    directory : path

    Returns
    -------
    paths : list of Path

    Raises
    ------
    StoreError
        When a figure cannot be written.
    """
    from plots.page.page import name_file, save

    make_directory(directory)
    paths = []
    for parts, draw in jobs:
        path = Path(directory) / name_file(*parts)
        try:
            paths.append(save(draw(), path))
        except OSError as error:
            raise StoreError(f"{path}: figure cannot be written ({error.strerror or error})",
                             "Check the directory, its permissions and the free space.") from None
        tell(f"drawn: {path}")
    return paths
