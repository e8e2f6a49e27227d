"""The standard set of figures of a run, and of several runs, as files."""

from functools import partial
from pathlib import Path

from plots.curves.series import find_end
from plots.frequency.spectrum import draw_spectrum, list_worth
from plots.page.page import name_file, save
from plots.starts.flux_path import draw_flux_path, has_path
from plots.starts.overlay import draw_machine_overlay, draw_node_overlay
from plots.starts.overview import draw_overview
from plots.starts.torque_speed import draw_torque_speed
from plots.switching.arrester import draw_arrester, find_conduction
from plots.switching.closeup import draw_closeup
from plots.switching.fault import draw_fault, list_faults
from plots.switching.inrush import draw_inrush, list_inrushes
from plots.switching.moments import find_closeup
from plots.switching.recovery import draw_recovery, list_openings
from plots.switching.statistics import draw_statistics, has_statistics
from plots.switching.zeros import draw_zeros, find_missing
from sim.measures.signals.spectrum import find_spectra

OPENINGS = ("open", "stop", "trip")


def draw_run(run, directory, progress=None):
    """Draw the standard figures of one run.

    Parameters
    ----------
    run : StoredRun
        With `summary`, `stretches`, `events`, `peaks`, `signal`, `label` and `case`.
    directory : path
        Made when it does not exist; files of the same names are replaced.
    progress : callable, optional
        Called with the share of the figures done, 0 to 1.

    Returns
    -------
    paths : list of Path
        The overview, one close-up for each opening and for each closing that the waveform engine carried, what
        `add_switching` finds worth a figure, closings at random, and torque against speed of each machine.

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
        for event in run.events:
            add_closeup(jobs, run, event)
        add_switching(jobs, run)
        add_drives(jobs, run)
    if has_statistics(run):
        jobs["statistics.png"] = partial(draw_statistics, run)
    for machine in run.case.machines:
        jobs[name_file("torque_speed", machine.name)] = partial(draw_torque_speed, run, machine)
    return list(jobs.items())


def add_closeup(jobs, run, event):
    """Add the close-up of an event: every opening, and closings that left phase voltages."""
    if event.what not in (*OPENINGS, "close"):
        return
    closeup = find_closeup(run, event)
    if closeup is None and event.what == "close":
        return
    parts = ["closing" if event.what == "close" else "trip", event.where]
    parts += [closeup.node.name] if closeup else []
    add_job(jobs, parts, draw_closeup, run, event, closeup)


def add_switching(jobs, run):
    """Add recovery voltages, missing zeros, inrush, conducting arresters and faults, where there are any."""
    for breaker in run.case.breakers:
        for opening in list_openings(run, breaker):
            add_job(jobs, ["recovery", breaker.name], draw_recovery, run, opening)
        missing = find_missing(run, breaker)
        if missing is not None:
            add_job(jobs, ["zeros", breaker.name], draw_zeros, run, breaker, missing)
    for inrush in list_inrushes(run):
        add_job(jobs, ["inrush", inrush.transformer.name], draw_inrush, run, inrush)
    for arrester in getattr(run.case, "arresters", []):
        stretch = find_conduction(run, arrester)
        if stretch is not None:
            add_job(jobs, ["arrester", arrester.name], draw_arrester, run, arrester, stretch)
    for fault, event, stretch in list_faults(run):
        add_job(jobs, ["fault", fault.name], draw_fault, run, fault, event, stretch)


def add_drives(jobs, run):
    """Add voltage and flux over each drive's ramp, and spectra of spans in detail that are distorted."""
    for drive in run.case.drives:
        if has_path(run, drive):
            add_job(jobs, ["flux", drive.name], draw_flux_path, run, drive)
    for group in list_worth(find_spectra(run)):
        add_job(jobs, ["spectrum"], draw_spectrum, run, group)


def add_job(jobs, parts, draw, *details):
    """Add one figure under a name of its own, numbered where the name is taken."""
    name, count = name_file(*parts), 1
    while name in jobs:
        count += 1
        name = name_file(*parts, str(count))
    jobs[name] = partial(draw, *details)


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
