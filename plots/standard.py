"""The standard set of figures of a run, and of several runs, as files."""

from functools import partial
from pathlib import Path

from plots.closeup import draw_closeup
from plots.overlay import draw_machine_overlay, draw_node_overlay
from plots.overview import draw_overview
from plots.page import name_file, save
from plots.series import find_end
from plots.switching import find_closeup
from plots.torque_speed import draw_torque_speed

OPENINGS = ("open", "stop", "trip")


def draw_run(run, directory, progress=None):
    """Draw the standard figures of one run.

    Parameters
    ----------
    run : StoredRun
        With `summary`, `stretches`, `marks`, `peaks`, `signal`, `label` and `case`.
    directory : path
        Made when it does not exist; files of the same names are replaced.
    progress : callable, optional
        Called with the share of the figures done, 0 to 1.

    Returns
    -------
    paths : list of Path
        The overview, one close-up for each opening and for each closing that the waveform engine carried,
        and torque against speed of each machine.

    Raises
    ------
    OSError
        When a file cannot be written.
    """
    jobs = list_figures(run)
    paths = []
    for done, (name, draw) in enumerate(jobs, start=1):
        paths.append(save(draw(), Path(directory) / name))
        if progress:
            progress(done / len(jobs))
    return paths


def list_figures(run):
    """File names and what draws them."""
    jobs = {"overview.png": partial(draw_overview, run)}
    if find_end(run) is not None:
        for mark in run.marks:
            add_closeup(jobs, run, mark)
    for machine in run.case.machines:
        jobs[name_file("torque_speed", machine.name)] = partial(draw_torque_speed, run, machine)
    return list(jobs.items())


def add_closeup(jobs, run, mark):
    """Add the close-up of a mark: every opening, and closings that left phase voltages."""
    if mark.kind not in (*OPENINGS, "close"):
        return
    closeup = find_closeup(run, mark)
    if closeup is None and mark.kind == "close":
        return
    parts = ["closing" if mark.kind == "close" else "trip", mark.target]
    parts += [closeup.node.name] if closeup else []
    name, count = name_file(*parts), 1
    while name in jobs:
        count += 1
        name = name_file(*parts, str(count))
    jobs[name] = partial(draw_closeup, run, mark, closeup)


def draw_overlay(runs, directory):
    """Draw several runs on one time axis.

    Parameters
    ----------
    runs : list of StoredRun
        Two or more, in the order of their colours.
    directory : path

    Returns
    -------
    paths : list of Path
        One figure for each machine by name, else one of the nodes that the runs share.

    Raises
    ------
    OSError
        When a file cannot be written.
    """
    names = list(dict.fromkeys(machine.name for run in runs for machine in run.case.machines))
    figures = {name_file("overlay", name): partial(draw_machine_overlay, runs, name) for name in names}
    figures = figures or {"overlay_nodes.png": partial(draw_node_overlay, runs)}
    return [save(draw(), Path(directory) / name) for name, draw in figures.items()]
