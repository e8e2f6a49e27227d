"""Figures of start windows."""

from functools import partial
from pathlib import Path
from typing import Any

import numpy as np

from sim.cli.drawing.run import save_figures
from sim.phasors.drive_line import find_voltage
from sim.results.window import Curve, Tried
from sim.studies.window.limits import find_torque_share
from sim.studies.window.points import solve_points
from sim.studies.window.study import Window

BOOSTS = (1.0, 2.0, 4.0, 6.0, 8.0)      # lines of equal boost [%]


def draw_windows(case: Any, windows: list[Window], directory: Path) -> list[Path]:
    """Draw "window_<drive>.png" of every drive.

    Raises
    ------
    StoreError
        When a figure cannot be written.
    """
    from plots.starts.start_window import draw_start_window

    return save_figures(((("window", window.feeder.drive.name), partial(
        draw_start_window, window.feeder.drive.name, window.still.hz, list_curves(window), window.feeder.limits.ratio,
        list_settings(window), describe(window), foot(case))) for window in windows), directory)


def foot(case: Any) -> tuple[str, str]:
    """Notes at the foot."""
    return ("shaded: within all limits; fine lines: equal boost; phasors with rotors at standstill",
            f"{case.name}  ·  case {case.sha256[:10]}")


def describe(window: Window) -> str:
    """The window in a sentence."""
    limits = window.feeder.limits
    text = (f"torque at least {limits.ratio:g} times breakaway, drive current at most "
            f"{100.0 * limits.current / limits.rated_current:.4g} % of rating; ")
    if not window.intervals:
        return text + "no window"
    return text + "window at " + " and ".join(f"{low:.2f} to {high:.2f} Hz" for low, high in window.intervals)


def list_curves(window: Window) -> list:
    """Torque at every limit, without boost, and along lines of equal boost."""
    limits, still = window.feeder.limits, window.still
    curves = []
    for name, points in window.at_limits.items():
        kind = "limit" if name == "drive current" else "flux"
        text = (f"{100.0 * limits.current / limits.rated_current:.4g} % of drive current" if kind == "limit"
                else write_flux(window, name))
        curves.append(Curve(text, find_torque_share(points, limits), kind))
    curves.append(Curve("V/f without boost", find_torque_share(window.plain, limits), "law"))
    every = np.arange(len(still.hz))
    for boost in BOOSTS:
        points = solve_points(still, every, find_voltage(window.feeder.line, still.hz, 0.01 * boost))
        curves.append(Curve(f"{boost:g} %", find_torque_share(points, limits), "boost"))
    return curves


def write_flux(window: Window, name: str) -> str:
    """Name of a flux limit with its value."""
    owner = name.removeprefix("flux of ")
    values = [limit for path, limit in zip(window.still.paths.names, window.feeder.limits.flux)
              if path.rpartition(".")[0] == owner]
    return f"{owner}\n{min(values):.3g} of rated flux"


def list_settings(window: Window) -> list:
    """The recommended or nearest setting and what else was tried."""
    limits = window.feeder.limits
    if not window.trials:
        word = "recommended" if window.intervals else "nearest"
        return [Tried(window.best.hz, float(find_torque_share(window.best.points, limits)[0]),
                      f"{word}: {window.best.hz:g} Hz, {100.0 * window.best.boost:.3g} %", None)]
    return [Tried(trial["hz"], float(find_torque_share(trial["points"], limits)[0]), write_trial(window, trial, k == 0),
                  trial["outcome"]) for k, trial in enumerate(window.trials)]


def write_trial(window: Window, trial: dict, is_first: bool) -> str:
    """Setting and outcome; beyond a limit also how far the current and the flux went."""
    text = f"{trial['hz']:.3g} Hz, {100.0 * trial['boost']:.3g} %"
    text = f"recommended: {text}" if is_first and window.intervals else text
    if trial["outcome"] != "breaks away" or trial["margins"].min() >= 0.0:
        return f"{text}\n{trial['outcome']}"
    flux = max(trial["flux_pu"].values(), default=0.0)
    return f"{text}\nbreaks away beyond its limits:\n{trial['drive_current_pct']:.0f} % of current, flux {flux:.2f}"
