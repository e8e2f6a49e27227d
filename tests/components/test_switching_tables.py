"""Rules of the tables of switching: coils of a reactor, curve of an arrester, cores, rated voltage of a breaker."""

import numpy as np
import pytest

from sim.components.at_nodes.arrester import Arrester
from sim.components.at_nodes.arrester import find_defaults as find_arrester
from sim.components.at_nodes.reactor import find_coil
from sim.components.branches.breaker import RACE_ONLY, Breaker, list_idle
from sim.components.branches.breaker import find_defaults as find_breaker
from sim.components.branches.transformer import Transformer
from sim.components.branches.transformer import find_defaults as find_transformer


def make_breaker(**more):
    return Breaker.model_validate({"name": "b", "from": "x", "to": "y", **more})


def make_transformer(**more):
    return Transformer.model_validate({"name": "t", "from": "x", "to": "y", "rated_mva": 10.0, "from_kv": 33.0,
                                       "to_kv": 6.6, **more})


@pytest.mark.parametrize("mvar, kv, quality, hz", [(5.0, 36.0, 300.0, 50.0), (0.5, 6.6, 20.0, 60.0),
                                                   (1.0, 10.0, 1.0, 50.0)])
def test_coil_takes_its_rated_power(mvar, kv, quality, hz):
    inductance, resistance = find_coil(mvar * 1e6, kv * 1e3, quality, hz)
    # complex power of three equal phases S = V^2/Z*, any textbook; the rest is rounding
    power = (kv * 1e3) ** 2 / np.conj(resistance + 2j * np.pi * hz * inductance)
    assert power.imag == pytest.approx(mvar * 1e6, rel=1e-12)
    assert power.real == pytest.approx(mvar * 1e6 / quality, rel=1e-12)


def test_arrester_defaults_from_rated_voltage():
    values = {key: filled.value for key, filled in find_arrester(Arrester(name="a", node="x", rated_kv=10.0)).items()}
    # common practice: Uc about 0.8 Ur, residual voltage at 10 kA 2.3 to 2.6 Ur
    assert values == {"continuous_kv": 8.0, "residual_kv": 24.5}


def test_residual_voltage_is_read_off_the_curve():
    table = Arrester(name="a", node="x", rated_kv=10.0, curve_a=[1.0, 5e3, 10e3, 20e3],
                     curve_kv=[16.0, 22.0, 23.5, 26.0])
    filled = find_arrester(table)["residual_kv"]
    assert filled.value == pytest.approx(23.5, rel=1e-12) and filled.origin == "derived"


def test_rated_voltage_of_a_breaker():
    # um where it is given, else the class above nominal (IEC 60071-1, from memory, to be checked)
    assert find_breaker(make_breaker(), 6.6, 8.0)["rated_kv"].value == 8.0
    assert find_breaker(make_breaker(), 6.6, None)["rated_kv"].value == 7.2


def test_race_is_on_when_the_rise_is_given():
    assert list_idle(make_breaker()) == RACE_ONLY
    assert list_idle(make_breaker(recovery_rise_kv_per_ms=20.0)) == ()


def test_zero_sequence_magnetising_of_both_cores():
    assert find_transformer(make_transformer())["zero_magnetising_pct"].value == 60.0
    bank = make_transformer(core="bank", no_load_current_pct=0.5, no_load_loss_pct=0.3)
    # the magnetising part of 0.5 % with 0.3 % in phase is 0.4 %: 1/0.004 of the base impedance
    assert find_transformer(bank)["zero_magnetising_pct"].value == pytest.approx(25000.0, rel=1e-12)
    estimated = find_transformer(make_transformer(core="bank"))
    current, loss = estimated["no_load_current_pct"].value, estimated["no_load_loss_pct"].value
    assert estimated["zero_magnetising_pct"].value == pytest.approx(1e4 / np.sqrt(current**2 - loss**2), rel=1e-12)
    assert estimated["zero_magnetising_pct"].origin == "derived"


@pytest.mark.parametrize("values", [{}, {"no_load_loss_kw": 10.0}])
def test_bank_needs_no_no_load_data(values):
    assert find_transformer(make_transformer(core="bank", **values))["zero_magnetising_pct"].value > 1e3
