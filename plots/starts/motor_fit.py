"""How well an equivalent circuit tells the nameplate: torque and current against speed, and a table of errors.

The curves are the circuit's own, at rated voltage and as a thin line at a reduced one.  On them stand circles
for what the nameplate gives and diamonds for what was assumed in its place, so that a mark off its curve is an
error to be seen; the table puts it into figures.
"""

from collections.abc import Callable, Collection, Mapping, Sequence
from typing import Any, NamedTuple

import numpy as np

from plots.curves.series import synchronous_speed
from plots.curves.traces import fit_height
from plots.page.assembly import finish
from plots.page.error_table import (
    NEGLIGIBLE,
    add_table,
    fill_table,
    find_worst,
    table_height,
    write_error,
)
from plots.page.labels import find_point, place_note
from plots.page.page import add_axes, name_axes, new_figure, palette
from sim.measures.starts.steady import find_breakdown_slip, find_current, find_torque
from sim.results.fits import Reproduced

HEIGHTS = (2.8, 2.2)
SPEED_POINTS = 801
REDUCED_PU = 0.8          # voltage at which a direct start is often judged (common practice)
NAMED_AT = 45.0           # speed at which the curves are named [% of synchronous]
COLOURS = {"torque": palette.LINES[0], "current": palette.LINES[2]}
GIVEN, ASSUMED, CIRCUIT = "o", "D", ""       # shapes of marks; the last is the dot of the note itself
LEGEND = {GIVEN: "circles: nameplate", ASSUMED: "diamonds: assumed", CIRCUIT: "dots: circuit"}


class Mark(NamedTuple):
    """A point: words, speed [% of synchronous], value [% of rated], and the shape that tells where it is from."""

    words: str
    speed: float
    value: float
    shape: str


def draw_motor(name: str, motor: Any, nameplate: Mapping[str, float | None], origins: Mapping[str, str],
               figures: Sequence[Reproduced] = (), title: str | None = None, foot: tuple[str, str] = ("", "")):
    """Figure of one motor.

    Parameters
    ----------
    name : str
        Of the machine.
    motor : object
        `circuit` (see `sim.params.motor.circuit`), rated_v [V], frequency_hz [Hz], poles,
        rated_speed_rad_per_s [rad/s], rated_torque_nm [N m], rated_current_a [A]; outside_loss_w [W] when
        the terminals take losses that the circuit does not hold.
    nameplate : mapping
        locked_rotor_current_pct, locked_rotor_torque_pct, breakdown_torque_pct, of rated current and torque;
        what is absent or None is marked as the circuit has it.
    origins : mapping
        "given", "derived" or "assumed" for rated_rpm, rated_current_a and every figure of `nameplate` that is there;
        a rated_rpm that is derived is the circuit's.
    figures : sequence of Reproduced
        What the circuit was fitted to and what it makes of it, in the order of the table; none, no table.
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
    marks = {torque: list_torque_marks(motor, nameplate, origins),
             current: list_current_marks(motor, nameplate, origins)}
    draw_panel(torque, motor, "torque", find_torque, marks[torque])
    draw_panel(current, motor, "current", find_current, marks[current])
    torque.tick_params(labelbottom=False)
    torque.set_xlim(0.0, 101.0)
    rpm = synchronous_speed(motor) * 30.0 / np.pi
    name_axes(current, x=f"Speed [% of synchronous, 100 % = {rpm:.0f} rpm]")
    panels, heights = [torque, current], list(HEIGHTS)
    if figures:
        panels.append(add_table(figure))
        heights.append(table_height(figures))
    finish(figure, panels, heights, [], title or f"{name}: equivalent circuit, {'fitted' if figures else 'as given'}",
           describe(motor, figures, {mark.shape for points in marks.values() for mark in points}), foot)
    for axes, points in marks.items():
        name_curves(axes, draw_marks(axes, points))
    if figures:
        fill_table(panels[-1], figures)
    return figure


def draw_panel(axes, motor: Any, quantity: str, find: Callable, marks: Sequence[Mark]) -> None:
    """One quantity over speed, at rated voltage and at the reduced one; room for the marks."""
    slip = np.linspace(1.0, 0.0, SPEED_POINTS)
    for voltage, width in ((1.0, palette.BOLD_LINE), (REDUCED_PU, palette.FINE_LINE)):
        axes.plot(100.0 * (1.0 - slip), find(motor, voltage, slip), linewidth=width,
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
        point, colour = find_point(axes, f"_{words}", NAMED_AT)
        taken.append(place_note(axes, point, words, colour, taken, marker=""))


def list_torque_marks(motor: Any, nameplate: Mapping[str, float | None], origins: Mapping[str, str]) -> list[Mark]:
    """Locked-rotor, breakdown and rated torque; the speed of breakdown is the circuit's, no nameplate has it."""
    slip = find_breakdown_slip(motor)
    rated = CIRCUIT if origins["rated_rpm"] == "derived" else find_shape(origins, "rated_rpm")
    return [make_mark("locked rotor", 1.0, motor, find_torque, nameplate, origins, "locked_rotor_torque_pct"),
            make_mark("breakdown", slip, motor, find_torque, nameplate, origins, "breakdown_torque_pct"),
            Mark("rated", find_rated_speed(motor), 100.0, rated)]


def list_current_marks(motor: Any, nameplate: Mapping[str, float | None], origins: Mapping[str, str]) -> list[Mark]:
    """Locked-rotor and rated current."""
    return [make_mark("locked rotor", 1.0, motor, find_current, nameplate, origins, "locked_rotor_current_pct"),
            Mark("rated", find_rated_speed(motor), 100.0, find_shape(origins, "rated_rpm", "rated_current_a"))]


def make_mark(words: str, slip: float, motor: Any, find: Callable, nameplate: Mapping[str, float | None],
              origins: Mapping[str, str], key: str) -> Mark:
    """Point of the nameplate at a slip, or of the circuit where the nameplate has none."""
    speed, stated = 100.0 * (1.0 - slip), nameplate.get(key)
    if stated is None:
        return Mark(words, speed, float(find(motor, 1.0, slip)), CIRCUIT)
    return Mark(words, speed, stated, find_shape(origins, key))


def find_shape(origins: Mapping[str, str], *keys: str) -> str:
    """Shape of a mark that rests on some figures: one of them assumed, all of it is."""
    return ASSUMED if "assumed" in [origins[key] for key in keys] else GIVEN


def find_rated_speed(motor: Any) -> float:
    """Rated speed. [% of synchronous]"""
    return 100.0 * motor.rated_speed_rad_per_s / synchronous_speed(motor)


def draw_marks(axes, marks: Sequence[Mark]) -> list:
    """Hollow marks for the nameplate, dots for the circuit, a note each; call once limits and position are final."""
    notes: list = []
    for mark in marks:
        if mark.shape != CIRCUIT:
            axes.plot(mark.speed, mark.value, marker=mark.shape, markersize=7.0, markerfacecolor="white", linestyle="",
                      markeredgecolor=palette.INK, markeredgewidth=1.3, label="_point", zorder=6, clip_on=False)
        notes.append(place_note(axes, (mark.speed, mark.value), f"{mark.words} {mark.value:.0f} %", taken=notes,
                                marker="o" if mark.shape == CIRCUIT else ""))
    return notes


def describe(motor: Any, figures: Sequence[Reproduced], shapes: Collection[str]) -> str:
    """Rating in one line; what the marks mean and how good the fit is in the next."""
    rating = (f"{motor.rated_v / 1e3:g} kV, {motor.frequency_hz:g} Hz, {motor.poles} poles; "
              f"100 % = {motor.rated_torque_nm / 1e3:.3g} kN m and {motor.rated_current_a:.3g} A")
    legend = ", ".join(words for shape, words in LEGEND.items() if shape in shapes)
    return f"{rating}\n{legend}; {judge_fit(figures)}"


def judge_fit(figures: Sequence[Reproduced]) -> str:
    """The largest error in words."""
    worst = find_worst(figures)
    if worst is None:
        return "the circuit was given, not fitted"
    if abs(worst.error_pct) < NEGLIGIBLE:
        return "every figure is met to 0.01 %"
    return f"largest error: {worst.name} {write_error(worst.error_pct)}"
