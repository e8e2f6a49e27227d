"""Motor circuit against its nameplate, and which figures of it were assumed."""

from types import SimpleNamespace

import numpy as np
import pytest
from figure_reading import find_line, find_overlaps, read_words

from plots.page.error_table import Reproduced, find_worst, write_error, write_value
from plots.page.page import palette
from plots.starts.motor_fit import draw_motor

SYNCHRONOUS = 50.0 * np.pi
CIRCUIT = SimpleNamespace(stator_resistance_ohm=0.1, stator_reactance_ohm=1.4, magnetising_reactance_ohm=48.0,
                          rotor_resistance_ohm=0.17, rotor_reactance_ohm=3.3, second_rotor_resistance_ohm=0.73,
                          second_rotor_reactance_ohm=1.8)
MOTOR = SimpleNamespace(circuit=CIRCUIT, rated_v=6600.0, frequency_hz=50.0, poles=4, rated_torque_nm=16e3,
                        rated_speed_rad_per_s=0.991 * SYNCHRONOUS, rated_current_a=260.0, outside_loss_w=0.0)
NAMEPLATE = {"locked_rotor_current_pct": 550.0, "locked_rotor_torque_pct": 75.0, "breakdown_torque_pct": 220.0}
ORIGINS = {"rated_rpm": "given", "rated_current_a": "derived", "locked_rotor_current_pct": "given",
           "locked_rotor_torque_pct": "given", "breakdown_torque_pct": "assumed"}
FIGURES = [Reproduced("rated speed", 1486.0, 1485.2, "rpm", -0.05, "given"),
           Reproduced("efficiency", 95.0, 94.8, "%", -0.21, "assumed"),
           Reproduced("locked-rotor torque", 75.0, 81.2, "% of rated", 8.27, "given"),
           Reproduced("breakdown torque", 220.0, 214.0, "% of rated", -2.73, "assumed")]


def mesh_standstill(volts):
    """Stator current [A] and torque [N m] at standstill from Kirchhoff's mesh equations, written out."""
    magnetising = 1j * CIRCUIT.magnetising_reactance_ohm
    z = np.full((3, 3), magnetising)
    z += np.diag([CIRCUIT.stator_resistance_ohm + 1j * CIRCUIT.stator_reactance_ohm,
                  CIRCUIT.rotor_resistance_ohm + 1j * CIRCUIT.rotor_reactance_ohm,
                  CIRCUIT.second_rotor_resistance_ohm + 1j * CIRCUIT.second_rotor_reactance_ohm])
    i = np.linalg.solve(z, [volts / np.sqrt(3.0), 0.0, 0.0])
    heat = 3.0 * (abs(i[1]) ** 2 * CIRCUIT.rotor_resistance_ohm + abs(i[2]) ** 2 * CIRCUIT.second_rotor_resistance_ohm)
    return i[0], heat / SYNCHRONOUS


@pytest.fixture(scope="module")
def figure():
    return draw_motor("pump_motor", MOTOR, NAMEPLATE, ORIGINS, FIGURES)


def points(axes, shapes="oD"):
    """Marks of some shapes, circles and diamonds, all hollow; the dots of notes are filled."""
    return [line.get_xydata()[0] for line in axes.lines
            if line.get_label() == "_point" and line.get_markerfacecolor() == "white" and line.get_marker() in shapes]


def dots(axes):
    """Marks of what the circuit has."""
    return [line.get_xydata()[0] for line in axes.lines
            if line.get_label() == "_point" and line.get_markerfacecolor() != "white"]


def test_axes_have_units(figure):
    torque, current = figure.axes[:2]
    assert torque.get_ylabel() == "Torque [% of rated]"
    assert current.get_ylabel() == "Current [% of rated]"
    assert current.get_xlabel() == "Speed [% of synchronous, 100 % = 1500 rpm]"


@pytest.mark.parametrize("voltage", [1.0, 0.8])
def test_curves_start_where_the_mesh_equations_say(figure, voltage):
    current, torque = mesh_standstill(voltage * MOTOR.rated_v)
    expected = 100.0 * torque / MOTOR.rated_torque_nm, 100.0 * abs(current) / MOTOR.rated_current_a
    for axes, value in zip(figure.axes, expected):
        line = find_line(axes, f"_at {100 * voltage:.0f} % voltage")
        # the same algebra in another order
        np.testing.assert_allclose([line.get_xdata()[0], line.get_ydata()[0]], [0.0, value], rtol=1e-9)


def test_losses_outside_the_circuit_add_to_the_current():
    loss = 60e3
    motor = SimpleNamespace(**vars(MOTOR) | {"outside_loss_w": loss})
    line = find_line(draw_motor("m", motor, NAMEPLATE, ORIGINS).axes[1], "_at 100 % voltage")
    phase = mesh_standstill(MOTOR.rated_v)[0] + loss / (np.sqrt(3.0) * MOTOR.rated_v)    # P = sqrt(3) V I
    np.testing.assert_allclose(line.get_ydata()[0], 100.0 * abs(phase) / MOTOR.rated_current_a, rtol=1e-9)


def test_nameplate_is_marked(figure):
    torque, current = figure.axes[:2]
    assert sorted(y for _, y in points(torque)) == [75.0, 100.0, 220.0]
    assert sorted(y for _, y in points(current)) == [100.0, 550.0]
    x, _ = next(point for point in points(torque) if point[1] == 100.0)
    np.testing.assert_allclose(x, 99.1, rtol=1e-9)


def test_shape_tells_what_was_assumed(figure):
    torque, current = figure.axes[:2]
    assert sorted(y for _, y in points(torque, "o")) == [75.0, 100.0]
    assert [y for _, y in points(torque, "D")] == [220.0]
    assert len(points(current, "o")) == 2 and not points(current, "D")
    words = read_words(figure)
    assert "circles: nameplate, diamonds: assumed; " in words and "dots" not in words


@pytest.mark.parametrize("key, in_torque, in_current", [
    ("rated_rpm", "D", "D"), ("rated_current_a", "o", "D"), ("locked_rotor_torque_pct", "o", "o")])
def test_rated_point_is_assumed_where_its_speed_or_current_is(key, in_torque, in_current):
    axes = draw_motor("m", MOTOR, NAMEPLATE, ORIGINS | {key: "assumed"}).axes
    for panel, shape in zip(axes, (in_torque, in_current)):
        assert 100.0 in [y for _, y in points(panel, shape)]


def test_rated_speed_of_a_given_circuit_is_marked_as_the_circuit_has_it():
    """Torque at that speed is rated power over it, so it lies on the curve; rated current is a figure of its own."""
    torque, current = draw_motor("m", MOTOR, {}, ORIGINS | {"rated_rpm": "derived"}).axes
    assert [len(points(axes)) for axes in (torque, current)] == [0, 1]
    assert 100.0 in [y for _, y in dots(torque)]


def test_table_tells_the_origin_in_a_column_of_its_own(figure):
    tags = [text for text in figure.axes[2].texts if text.get_text() in ("given", "assumed", "derived")]
    assert [tag.get_text() for tag in tags] == [row.origin for row in FIGURES]
    assert {tag.get_color() for tag in tags} == {palette.QUIET}
    assert len({tag.get_position()[0] for tag in tags}) == 1


def test_breakdown_is_marked_at_the_highest_torque(figure):
    line = find_line(figure.axes[0], "_at 100 % voltage")
    top = line.get_xdata()[np.argmax(np.where(line.get_xdata() > 85.0, line.get_ydata(), 0.0))]
    x, _ = next(point for point in points(figure.axes[0]) if point[1] == 220.0)
    assert abs(x - top) <= 0.125        # the curve has a point every 0.125 %


def test_what_the_nameplate_lacks_is_marked_as_the_circuit_has_it():
    figure = draw_motor("m", MOTOR, {"locked_rotor_torque_pct": None}, ORIGINS)
    assert [len(points(axes)) for axes in figure.axes] == [1, 1]        # circles: the rated point alone
    current, torque = mesh_standstill(MOTOR.rated_v)
    words = read_words(figure)
    assert f"locked rotor {100.0 * torque / MOTOR.rated_torque_nm:.0f} %" in words
    assert f"locked rotor {100.0 * abs(current) / MOTOR.rated_current_a:.0f} %" in words


def test_table_shows_every_figure_and_stresses_the_worst(figure):
    words = read_words(figure)
    for row in FIGURES:
        assert row.name in words and f"{row.error_pct:+.2f} %" in words
    assert "largest error: locked-rotor torque +8.27 %" in words
    table = figure.axes[2]
    red = {text.get_text() for text in table.texts if text.get_color() == palette.LIMIT}
    assert {"locked-rotor torque", "75", "81.2", "+8.27 %"} <= red
    widths = [patch.get_width() for patch in table.patches]
    np.testing.assert_allclose(np.array(widths) / widths[2], [row.error_pct / 8.27 for row in FIGURES], rtol=1e-9)


def test_small_errors_are_not_stressed():
    table = draw_motor("m", MOTOR, NAMEPLATE, ORIGINS, FIGURES[:2]).axes[2]
    assert palette.LIMIT not in {text.get_color() for text in table.texts}


def test_given_circuit_is_said():
    figure = draw_motor("m", MOTOR, {}, ORIGINS)
    words = read_words(figure)
    assert "the circuit was given, not fitted" in words and "m: equivalent circuit, as given" in words
    assert len(figure.axes) == 2


def test_worst_is_told_by_magnitude():
    rows = [Reproduced("a", 1.0, 1.0, "", 2.0, "given"), Reproduced("b", 1.0, 1.0, "", -3.0, "given")]
    assert find_worst(rows).name == "b"
    assert find_worst([]) is None


@pytest.mark.parametrize("value, text", [(1485.24, "1485"), (0.8761, "0.8761"), (94.8, "94.8"), (12345.6, "12346")])
def test_numbers_are_short(value, text):
    assert write_value(value) == text


@pytest.mark.parametrize("error, text", [(8.27, "+8.27 %"), (-0.0051, "-0.01 %"), (-0.0049, "0.00 %"), (0.0, "0.00 %")])
def test_error_that_rounds_to_zero_has_no_sign(error, text):
    assert write_error(error) == text


def test_exact_fit_is_said():
    row = Reproduced("breakdown torque", 2.2, 2.2, "pu of rated torque", -1e-4, "assumed")
    assert "; every figure is met to 0.01 %" in read_words(draw_motor("m", MOTOR, NAMEPLATE, ORIGINS, [row]))


LONG = Reproduced("locked-rotor power factor", 0.001234, 0.001534, "pu of rated current", -123.45, "assumed")


@pytest.mark.parametrize("nameplate, figures", [
    (NAMEPLATE, FIGURES), (NAMEPLATE, ()), ({}, FIGURES[:1]), (NAMEPLATE, [*FIGURES, LONG] * 2)])
def test_no_text_overlaps(nameplate, figures):
    assert find_overlaps(draw_motor("a_motor_with_a_long_name", MOTOR, nameplate, ORIGINS, figures,
                                    foot=("steady state", "case"))) == []
