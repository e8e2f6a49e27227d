"""How well a cable's series of branches follows its skin and proximity effect: R and L against frequency.

The broad light line is the exact impedance of the construction, the fine dark one on top of it what the
simulation uses: where the dark line leaves the light one, the model is off.  The lowest panel gives the error
of the whole impedance, and that of the resistance alone: at high frequency the reactance hides the latter, but
it is the resistance that damps a ringing.
"""

from collections.abc import Sequence
from typing import Any

import numpy as np
from matplotlib.ticker import FuncFormatter, LogLocator, NullLocator

from plots.curves.traces import fit_height
from plots.page.assembly import finish
from plots.page.labels import find_point, place_note
from plots.page.page import add_axes, name_axes, new_figure, palette
from sim.results.fits import SequenceFit

HEIGHTS = (2.4, 1.8, 1.2)
LOOKS = ((palette.LINES[0], "-"), (palette.LINES[1], palette.DASHES[1]))
EXACT = {"linewidth": 6.0, "alpha": 0.3, "zorder": 2, "solid_capstyle": "butt"}
FITTED = {"linewidth": palette.BOLD_LINE, "zorder": 3}
TO_KM, TO_MH_PER_KM = 1e3, 1e6
ROOM = 0.25              # decades of resistance left free above and below, for notes


def draw_cable(name: str, frequency: np.ndarray, sequences: Sequence[SequenceFit], rated_hz: float,
               title: str | None = None, foot: tuple[str, str] = ("", "")):
    """Figure of one cable, or of one section of it.

    Parameters
    ----------
    name : str
    frequency : ndarray, shape (n,)
        Ascending, > 0, usually 0.1 Hz to 20 kHz in even ratios. [Hz]
    sequences : sequence of SequenceFit
        Positive sequence first; one or two.
    rated_hz : float
        Frequency at which the resistance is written out. [Hz]
    title : str, optional
    foot : tuple of str
        Left and right text at the foot.

    Returns
    -------
    figure : Figure
    """
    figure = new_figure()
    resistance = add_axes(figure)
    inductance, error = add_axes(figure, resistance), add_axes(figure, resistance)
    for fit, look in zip(sequences, LOOKS):
        draw_sequence((resistance, inductance, error), frequency, fit, look)
    frame_frequency((resistance, inductance, error), frequency)
    frame_heights(resistance, inductance, error)
    finish(figure, [resistance, inductance, error], list(HEIGHTS), [],
           title or f"{name}: series impedance, fit over exact", describe(sequences), foot)
    mark_rated(resistance, sequences, rated_hz, "ohm/km")
    mark_rated(inductance, sequences, rated_hz, "mH/km")
    return figure


def find_errors(fit: SequenceFit) -> tuple[np.ndarray, np.ndarray]:
    """Error of the resistance and of the whole impedance, of the exact magnitude of each, shapes (n,). [%]"""
    return (100.0 * np.abs(fit.fitted.real / fit.exact.real - 1.0),
            100.0 * np.abs(fit.fitted / fit.exact - 1.0))


def find_resistance(frequency: np.ndarray, impedance: np.ndarray) -> np.ndarray:
    """[ohm/km]"""
    return TO_KM * impedance.real


def find_inductance(frequency: np.ndarray, impedance: np.ndarray) -> np.ndarray:
    """[mH/km]"""
    return TO_MH_PER_KM * impedance.imag / (2.0 * np.pi * frequency)


def draw_sequence(panels: Sequence[Any], frequency: np.ndarray, fit: SequenceFit, look: tuple) -> None:
    """Both impedances of one sequence in the panels of resistance and inductance, the errors in the third."""
    colour, dash = look
    for axes, find in zip(panels, (find_resistance, find_inductance)):
        axes.plot(frequency, find(frequency, fit.exact), color=colour, label=f"_exact {fit.name}", **EXACT)
        axes.plot(frequency, find(frequency, fit.fitted), color=colour, linestyle=dash, label=f"_fitted {fit.name}",
                  **FITTED)
    of_resistance, of_impedance = find_errors(fit)
    panels[-1].plot(frequency, of_resistance, color=colour, linestyle=dash, **FITTED,
                    label=f"{fit.name}:\nR {of_resistance.max():.2g} %, Z {of_impedance.max():.2g} %")
    panels[-1].plot(frequency, of_impedance, color=colour, linewidth=palette.FINE_LINE, zorder=2.5,
                    label=f"_impedance {fit.name}")


def frame_frequency(panels: Sequence[Any], frequency: np.ndarray) -> None:
    """Decades along the foot, numbers only under the last panel."""
    for axes in panels:
        axes.set_xscale("log")
        axes.xaxis.set_major_locator(LogLocator(10.0, numticks=12))
        axes.xaxis.set_minor_locator(NullLocator())
        axes.xaxis.set_major_formatter(FuncFormatter(lambda value, _: f"{value:g}"))
        axes.tick_params(labelbottom=axes is panels[-1])
    panels[0].set_xlim(frequency[0], frequency[-1])
    name_axes(panels[-1], x="Frequency [Hz]")


def frame_heights(resistance, inductance, error) -> None:
    """Resistance and inductance in decades, error from zero."""
    for axes in (resistance, inductance):
        values = np.concatenate([line.get_ydata() for line in axes.lines])
        axes.set_yscale("log")
        axes.yaxis.set_major_locator(LogLocator(10.0, subs=(1.0, 2.0, 3.0, 5.0), numticks=12))
        axes.yaxis.set_minor_locator(NullLocator())
        axes.yaxis.set_major_formatter(FuncFormatter(lambda value, _: f"{value:g}"))
        axes.set_ylim(values.min() * 10.0**-ROOM, values.max() * 10.0**ROOM)
    fit_height(error, least=0.1)
    for axes, words in ((resistance, "R [ohm/km]"), (inductance, "L [mH/km]"), (error, "Error [%]")):
        name_axes(axes, y=words)


def mark_rated(axes, sequences: Sequence[SequenceFit], rated_hz: float, unit: str) -> list:
    """Name of each sequence, with the value of its fit at rated frequency."""
    notes: list = []
    for fit in sequences:
        point, colour = find_point(axes, f"_fitted {fit.name}", rated_hz)
        words = f"{fit.name}: {write_digits(point[1])} {unit} at {rated_hz:g} Hz"
        notes.append(place_note(axes, point, words, colour, notes))
    return notes


def write_digits(value: float) -> str:
    """Three significant digits, closing zeros included."""
    return f"{value:#.3g}".rstrip(".")


def describe(sequences: Sequence[SequenceFit]) -> str:
    """How to read the lines, and the largest errors, in a sentence."""
    errors = ", ".join(f"{find_errors(fit)[1].max():.2g} % ({fit.name})" for fit in sequences)
    return f"light: exact; dark: as simulated; error bold of R, fine of Z; largest of Z {errors}"
