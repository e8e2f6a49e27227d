"""How well an equivalent circuit tells the nameplate: torque and current against speed, and a table of errors.

The curves are the circuit's own, at rated voltage and as a thin line at a reduced one.  The nameplate stands
on them as circles, so that a circle off its curve is an error to be seen; the table puts it into figures.
"""

from collections.abc import Callable, Mapping, Sequence
from typing import Any, NamedTuple

import numpy as np

from plots import palette
from plots.assembly import finish
from plots.error_table import Reproduced, add_table, fill_table, find_worst, table_height
from plots.labels import place_note
from plots.page import add_axes, name_axes, new_figure
from plots.traces import fit_height
from sim.params.equivalent_circuit import Supply, air_gap_torque, breakdown, make_supply, stator_current

HEIGHTS = (2.8, 2.2)
SPEED_POINTS = 801
REDUCED_PU = 0.8          # voltage at which a direct start is often judged (common practice)
NAMED_AT = 45.0           # speed at which the curves are named [% of synchronous]
COLOURS = {"torque": palette.LINES[0], "current": palette.LINES[2]}


class Mark(NamedTuple):
    """A point: words, speed [% of synchronous], value [% of rated], and whether the nameplate gives it."""

    words: str
    speed: float
    value: float
    is_given: bool


def draw_motor(name: str, motor: Any, nameplate: Mapping[str, float | None], figures: Sequence[Reproduced] = (),
               title: str | None = None, foot: tuple[str, str] = ("", "")):
    """Figure of one motor.

    Parameters
    ----------
    name : str
        Of the machine.
    motor : object
        `circuit` (see `sim.params.equivalent_circuit`), rated_v [V], frequency_hz [Hz], poles,
        rated_speed_rad_per_s [rad/s], rated_torque_nm [N m], rated_current_a [A]; outside_loss_w [W] when
        the terminals take losses that the circuit does not hold.
    nameplate : mapping
        locked_rotor_current_pct, locked_rotor_torque_pct, breakdown_torque_pct, of rated current and torque;
        what is absent or None is marked as the circuit has it.
    figures : sequence of Reproduced
        What was given and what the circuit makes of it, in the order of the table; none, no table.
    title : str, optional
    foot : tuple of str
        Left and right text at the foot.

    Returns
    -------
    figure : Figure
    """
    figure = new_figure()
    torque = add_axes(figure)
    current = add_axes(figure, torque)
    marks = {torque: list_torque_marks(motor, nameplate), current: list_current_marks(motor, nameplate)}
    draw_panel(torque, motor, "torque", find_torque, marks[torque])
    draw_panel(current, motor, "current", find_current, marks[current])
    torque.tick_params(labelbottom=False)
    torque.set_xlim(0.0, 101.0)
    rpm = find_supply(motor).synchronous_speed * 30.0 / np.pi
    name_axes(current, x=f"Speed [% of synchronous, 100 % = {rpm:.0f} rpm]")
    panels, heights = [torque, current], list(HEIGHTS)
    if figures:
        panels.append(add_table(figure))
        heights.append(table_height(figures))
    finish(figure, panels, heights, [], title or f"{name}: equivalent circuit against nameplate",
           describe(motor, figures), foot)
    for axes, points in marks.items():
        name_curves(axes, draw_marks(axes, points))
    if figures:
        fill_table(panels[-1], figures)
    return figure


def find_supply(motor: Any, voltage_pu: float = 1.0) -> Supply:
    """Supply at rated frequency and a share of rated voltage."""
    return make_supply(voltage_pu * motor.rated_v, motor.frequency_hz, motor.poles, motor.frequency_hz)


def find_torque(motor: Any, supply: Supply, slip: Any) -> Any:
    """Air-gap torque. [% of rated]"""
    return 100.0 * air_gap_torque(motor.circuit, supply, slip) / motor.rated_torque_nm


def find_current(motor: Any, supply: Supply, slip: Any) -> Any:
    """Line current, that of losses outside the circuit included. [% of rated]"""
    outside = getattr(motor, "outside_loss_w", 0.0) / motor.rated_v**2 * supply.voltage / np.sqrt(3.0)
    return 100.0 * np.abs(stator_current(motor.circuit, supply, slip) + outside) / motor.rated_current_a


def draw_panel(axes, motor: Any, quantity: str, find: Callable, marks: Sequence[Mark]) -> None:
    """One quantity over speed, at rated voltage and at the reduced one; room for the marks."""
    slip = np.linspace(1.0, 0.0, SPEED_POINTS)
    for voltage, width in ((1.0, palette.BOLD_LINE), (REDUCED_PU, palette.FINE_LINE)):
        axes.plot(100.0 * (1.0 - slip), find(motor, find_supply(motor, voltage), slip), linewidth=width,
                  color=COLOURS[quantity], zorder=3, label=f"_{name_voltage(voltage)}")
    name_axes(axes, y=f"{quantity.capitalize()} [% of rated]")
    fit_height(axes, least=1.08 * max(mark.value for mark in marks))


def name_voltage(voltage_pu: float) -> str:
    """What a curve is drawn for."""
    return f"at {100.0 * voltage_pu:.0f} % voltage"


def name_curves(axes, taken: list) -> None:
    """Names beside the curves where they run apart: at synchronous speed they would lie on each other."""
    for voltage in (1.0, REDUCED_PU):
        words = name_voltage(voltage)
        line = next(line for line in axes.lines if line.get_label() == f"_{words}")
        point = (NAMED_AT, float(np.interp(NAMED_AT, *line.get_data())))
        taken.append(place_note(axes, point, words, line.get_color(), taken, marker=""))


def list_torque_marks(motor: Any, nameplate: Mapping[str, float | None]) -> list[Mark]:
    """Locked-rotor, breakdown and rated torque; the speed of breakdown is the circuit's, no nameplate has it."""
    slip = min(breakdown(motor.circuit, find_supply(motor)).slip, 1.0)
    return [make_mark("locked rotor", 1.0, motor, find_torque, nameplate.get("locked_rotor_torque_pct")),
            make_mark("breakdown", slip, motor, find_torque, nameplate.get("breakdown_torque_pct")),
            Mark("rated", find_rated_speed(motor), 100.0, True)]


def list_current_marks(motor: Any, nameplate: Mapping[str, float | None]) -> list[Mark]:
    """Locked-rotor and rated current."""
    return [make_mark("locked rotor", 1.0, motor, find_current, nameplate.get("locked_rotor_current_pct")),
            Mark("rated", find_rated_speed(motor), 100.0, True)]


def make_mark(words: str, slip: float, motor: Any, find: Callable, given: float | None) -> Mark:
    """Point of the nameplate at a slip, or of the circuit where the nameplate has none."""
    value = float(find(motor, find_supply(motor), slip)) if given is None else given
    return Mark(words, 100.0 * (1.0 - slip), value, given is not None)


def find_rated_speed(motor: Any) -> float:
    """Rated speed. [% of synchronous]"""
    return 100.0 * motor.rated_speed_rad_per_s / find_supply(motor).synchronous_speed


def draw_marks(axes, marks: Sequence[Mark]) -> list:
    """Circles for the nameplate, dots for the circuit, with a note each; call once limits and position are final."""
    notes: list = []
    for mark in marks:
        if mark.is_given:
            axes.plot(mark.speed, mark.value, marker="o", markersize=7.0, markerfacecolor="white", linestyle="",
                      markeredgecolor=palette.INK, markeredgewidth=1.3, label="_point", zorder=6, clip_on=False)
        notes.append(place_note(axes, (mark.speed, mark.value), f"{mark.words} {mark.value:.0f} %", taken=notes,
                                marker="" if mark.is_given else "o"))
    return notes


def describe(motor: Any, figures: Sequence[Reproduced]) -> str:
    """Rating and worst error in a sentence."""
    rating = (f"{motor.rated_v / 1e3:g} kV, {motor.frequency_hz:g} Hz, {motor.poles} poles; "
              f"100 % = {motor.rated_torque_nm / 1e3:.3g} kN m and {motor.rated_current_a:.3g} A; "
              "circles: nameplate, dots: circuit")
    worst = find_worst(figures)
    if worst is None:
        return f"{rating}; the circuit was given, not fitted"
    return f"{rating}; largest error: {worst.name} {worst.error_pct:+.2f} %"
