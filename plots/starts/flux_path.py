"""Voltage of a drive and flux of every transformer it feeds against its frequency, with the limit of the flux."""

import numpy as np
from matplotlib.ticker import FixedLocator, NullLocator

from plots.curves.series import find_limit, read
from plots.page.assembly import finish, identify
from plots.page.page import add_axes, name_axes, new_figure, palette, plain_numbers
from sim.measures.signals.axis import cut_evenly, cycle_mean
from sim.measures.starts.steady import find_drive_voltage

HEIGHTS = (1.7, 2.9)
GRID = 160              # frequencies at which the lines are drawn, in even ratios
TICKS = (0.1, 0.2, 0.5, 1, 2, 5, 10, 20, 50, 60, 100, 200, 400)     # [Hz]
LEAST_RISE = 2.0        # a drive whose frequency rises by less than this factor has no path
ENDS = ("from", "to")


def has_path(run, drive):
    """Whether a drive's frequency rose enough, and what it feeds holds fluxes."""
    found = read(run, drive.name, "frequency")
    if found is None or not list_fluxes(run, drive):
        return False
    running = found[1][found[1] > 0.0]
    return len(running) > 2 and running.max() > LEAST_RISE * running.min()


def list_fluxes(run, drive):
    """(transformer, end) of every winding on the drive's island that the run holds."""
    islands = {node.name: node.island for node in run.case.nodes}
    return [(unit.name, end) for unit in run.case.transformers
            if islands.get(unit.from_node) == islands.get(drive.node)
            for end in ENDS if read(run, unit.name, f"flux_{end}") is not None]


def draw_flux_path(run, drive):
    """Figure of one drive over its rise to the highest frequency.

    Parameters
    ----------
    run : StoredRun
    drive : Record

    Returns
    -------
    figure : Figure
        Voltage behind the drive's impedance against the V/f line, and the flux of all windings.
    """
    t, hz = read(run, drive.name, "frequency")
    top = int(np.argmax(hz > 0.999 * hz.max()))
    grid = np.geomspace(max(hz[0], 1e-3), hz[top], GRID)
    figure = new_figure()
    upper = add_axes(figure)
    lower = add_axes(figure, upper)
    volts = follow(run, drive, (drive.name, "emf"), t[:top + 1], hz[:top + 1], grid) / drive.rated_v
    upper.plot(grid, 100.0 * volts, color=palette.LINES[0], linewidth=palette.BOLD_LINE, label=drive.name)
    upper.plot(grid, 100.0 * find_drive_voltage(drive, grid) / drive.rated_v, color=palette.QUIET, linewidth=1.0,
               linestyle=palette.DASHES[2], label="V/f line")
    names = list_fluxes(run, drive)
    for k, (name, end) in enumerate(names):
        flux = follow(run, drive, (name, f"flux_{end}"), t[:top + 1], hz[:top + 1], grid)
        lower.plot(grid, flux, color=palette.LINES[k % len(palette.LINES)], linewidth=palette.BOLD_LINE,
                   linestyle=palette.DASHES[k // len(palette.LINES) % len(palette.DASHES)], label=f"{name}, {end} side")
    limits = {find_limit(run, "flux_starting", name) for name, _ in names} - {None}
    for limit in sorted(limits):
        lower.plot(grid[[0, -1]], [limit, limit], color=palette.LIMIT, linestyle=palette.LIMIT_DASH, linewidth=1.1,
                   label=f"limit {limit:g}")
    upper.set_ylim(bottom=0.0)
    lower.set_ylim(bottom=0.0)
    upper.set_xlim(grid[0], grid[-1])
    lower.set_xscale("log")
    lower.xaxis.set_major_locator(FixedLocator([hz for hz in TICKS if grid[0] <= hz <= grid[-1]]))
    lower.xaxis.set_minor_locator(NullLocator())
    lower.xaxis.set_major_formatter(plain_numbers())
    upper.tick_params(labelbottom=False)
    name_axes(upper, y="Voltage [% of rated]")
    name_axes(lower, x=f"Frequency of {drive.name} [Hz]", y="Flux [of rated flux]")
    return finish(figure, [upper, lower], list(HEIGHTS), [], f"{drive.name}: voltage and flux over the ramp",
                  "highest value while the drive stood at each frequency; flux is voltage over frequency behind the "
                  "winding", ("mean over one rated cycle", identify(run)))


def follow(run, drive, signal, t, hz, grid):
    """Largest value of a signal's cycle mean around each frequency of the grid, shape (GRID,)."""
    at, y = read(run, *signal)
    axis = cut_evenly(at, 1.0 / drive.frequency_hz)
    mean = cycle_mean(axis, y) if len(axis.starts) else np.empty(0)
    centre = 0.5 * (axis.starts + axis.ends)
    inside = centre <= t[-1]
    place = np.clip(np.searchsorted(grid, np.interp(centre[inside], t, hz)), 0, GRID - 1)
    out = np.full(GRID, np.nan)
    np.fmax.at(out, place, mean[inside])
    known = np.isfinite(out)
    return np.interp(grid, grid[known], out[known]) if known.any() else out
