"""The nodal solver: winding connections, power balance; test_faults compares it with sequence formulas."""

import numpy as np
import pytest

from . import three_phase

EMF = 6600.0 / np.sqrt(3.0)
ZERO, POSITIVE = 0.9 + 2.5j, 0.2 + 1.4j
EXACT = 1e-10      # linear algebra in double precision, condition number below 1e5


@pytest.mark.parametrize("group", ["YNyn0", "YNyn6", "Dd0", "Dyn1", "Dyn5", "Dyn7", "Dyn11", "YNd1", "YNd5",
                                   "YNd11", "Yyn0", "Dd2", "YNyn4"])
def test_positive_sequence_lags_by_the_clock(group):
    """IEC 60076-1: the number is the hour of the low-voltage phasor, the high-voltage one at twelve."""
    v = open_circuit(group, three_phase.POSITIVE)
    clock = int(group.lstrip("YNDynd"))
    assert three_phase.sequences(v)[1] == pytest.approx(0.1 * np.exp(-1j * np.pi / 6.0 * clock), rel=1e-6)


def test_opposite_sequence_leads_instead():
    v = open_circuit("Dyn11", np.conj(three_phase.POSITIVE))
    assert three_phase.sequences(v)[2] == pytest.approx(0.1 * np.exp(-1j * np.pi / 6.0), rel=1e-6)


def open_circuit(group, phases):
    """Secondary voltages with 1 V per phase on the primary, 10:1, light capacitance on the secondary."""
    feed = three_phase.shunt_element(three_phase.terminals("high"), 1e6)
    parts = three_phase.transformer_element("t", "high", "low", group, 10.0, 1.0, 0.01 + 0.1j, 1e-9, 1e-9)
    load = three_phase.shunt_element(three_phase.terminals("low"), 1e-8j)
    drive = dict(zip(three_phase.terminals("high"), 1e6 * np.asarray(phases)))
    return three_phase.phase_voltages(three_phase.solve([feed, *parts, load], drive), "low")


@pytest.mark.parametrize("group, passes", [("Dyn11", "second"), ("YNd11", "first"), ("Yyn0", "none"),
                                           ("YNyn0", "through")])
def test_zero_sequence_follows_the_windings(group, passes):
    """Impedance to three equal currents fed in at either side; the other side open or shorted to earth."""
    def seen(side, shorted):
        other = "low" if side == "high" else "high"
        parts = three_phase.transformer_element("t", "high", "low", group, 1.0, 1.0, 0.1j, -1e-9j, -1e-9j)
        hold = [three_phase.shunt_element(three_phase.terminals(other), 1e9 if shorted else 1e-12),
                three_phase.shunt_element(three_phase.terminals(side), 1e-12)]
        v = three_phase.solve([*parts, *hold], dict.fromkeys(three_phase.terminals(side), 1.0))
        return abs(three_phase.sequences(three_phase.phase_voltages(v, side))[0])

    blocked = 1e6                                        # ohm: anything that large is no path
    paths = {(side, short): seen(side, short) < blocked
             for side in ("high", "low") for short in (False, True)}
    assert paths == {("high", False): passes == "first", ("high", True): passes in ("first", "through"),
                     ("low", False): passes == "second", ("low", True): passes in ("second", "through")}
    if passes == "through":
        assert seen("high", True) == pytest.approx(0.1, rel=1e-6)
    if passes == "first":
        assert seen("high", False) == pytest.approx(0.1, rel=1e-6)


@pytest.mark.parametrize("group, sign", [("YNyn0", 1.0), ("YNyn4", 1.0), ("YNyn8", 1.0), ("YNyn6", -1.0),
                                         ("YNyn2", -1.0), ("YNyn10", -1.0)])
def test_zero_sequence_of_two_earthed_stars_follows_the_winding_sense(group, sign):
    """Renaming the phases leaves three equal voltages alone; swapped coil ends turn them round."""
    v = open_circuit(group, np.ones(3))
    assert three_phase.sequences(v)[0] == pytest.approx(0.1 * sign, rel=1e-6)


def test_impossible_clock_is_refused():
    with pytest.raises(ValueError, match="clock number 0"):
        three_phase.transformer_coils("Dyn0")


def test_power_of_sources_is_the_loss_of_elements():
    """Tellegen on an unbalanced network."""
    rng = np.random.default_rng(4)
    element, drive = three_phase.source("a", EMF, ZERO, POSITIVE)
    lossy = three_phase.series_element(three_phase.terminals("a"), three_phase.terminals("b"),
                                       three_phase.phase_matrix(0.1 - 0.3j, 0.2 - 0.9j))
    load = three_phase.shunt_element(three_phase.terminals("b"), np.diag(rng.uniform(0.01, 0.2, 3)))
    elements = [element, lossy, load]
    v = three_phase.solve(elements, drive)
    given = sum(v[name] * np.conj(i) for name, i in drive.items())
    taken = 0.0
    for ends, matrix in elements:
        u = np.array([v[name] for name in ends])
        taken += u @ np.conj(np.asarray(matrix) @ u)
    assert given == pytest.approx(taken, rel=EXACT)


def test_sequence_matrices_are_inverse_of_each_other():
    z = three_phase.phase_matrix(0.9, 0.2 + 1j)
    assert np.allclose(z, z.T)
    assert z[0, 0] - z[0, 1] == pytest.approx(0.2 + 1j)          # positive: self less mutual
    assert z[0, 0] + 2.0 * z[0, 1] == pytest.approx(0.9)         # zero: self plus twice mutual
