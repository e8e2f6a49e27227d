"""Values of poles, neutrals, cores, arresters and faults that contradict or need each other."""

import pytest

from ..sample import find_mistake, find_mistakes, make, make_driven, make_switched, parse

RACE = {"recovery_start_kv": 5.0, "recovery_rise_kv_per_ms": 20.0, "recovery_most_kv": 60.0, "quench_a_per_us": 300.0}


def change(kind, remove=(), **values):
    """Sample with switching; values of the first table of a kind replaced or removed."""
    data = make_switched()
    data[kind][0] = {key: value for key, value in data[kind][0].items() if key not in remove} | values
    return data


@pytest.mark.parametrize("values, told", [
    ({"insertion_ohm": 400.0}, "feeder_breaker.insertion_ms: missing, insertion_ohm is given. A closing resistor needs "
                               "both its resistance and its time. Add insertion_ms or remove insertion_ohm."),
    ({"insertion_ms": 10.0}, "feeder_breaker.insertion_ohm: missing, insertion_ms is given."),
    ({"scatter_ms": -1.0}, "feeder_breaker.scatter_ms = -1.0: must be >= 0 and <= 100. Did you mean 1.0?"),
    ({"closing_delays_ms": [0.0, -2.0, 0.0]},
     "feeder_breaker.closing_delays_ms[2] = -2.0: must be >= 0 and <= 1000. Did you mean 2.0?"),
    ({"opening_delays_ms": [0.0, 0.0, 2000.0]}, "feeder_breaker.opening_delays_ms[3] = 2000.0: must be >= 0"),
    ({"closing_delays_ms": [0.0, 1.0]},
     "feeder_breaker.closing_delays_ms = [0.0, 1.0]: must hold 3 values, one for each of the phases a, b and c. Give "
     "the delay of poles a, b and c after an order to close in ms."),
    ({"opening_delays_ms": [0.0, 1.0, 2.0, 3.0]}, "feeder_breaker.opening_delays_ms = [0.0, 1.0, 2.0, 3.0]: must hold"),
    ({"closing_delays_ms": 3.0}, "feeder_breaker.closing_delays_ms = 3.0: must be a list of numbers."),
    ({"closing_angle_deg": 361.0}, "feeder_breaker.closing_angle_deg = 361.0: must be >= 0 and <= 360."),
    ({**RACE, "recovery_most_kv": 4.0},
     "feeder_breaker.recovery_most_kv = 4.0: must be >= recovery_start_kv = 5, which the gap stands from the first.")])
def test_poles(values, told):
    assert find_mistake(change("breaker", **values)).startswith(told)


def test_delays_in_another_unit():
    data = change("breaker", closing_delays_us=[0, 500.0, 1500])
    assert parse(data).breakers[0].closing_delays_s == [0.0, 5e-4, 1.5e-3]
    assert find_mistake(change("breaker", closing_delays_us=[0.0, 500.0])).startswith(
        "feeder_breaker.closing_delays_us = [0.0, 500.0]: must hold 3 values")


@pytest.mark.parametrize("group, key", [("Dyn11", "to_neutral_resistance_ohm"), ("YNd11", "from_neutral_reactance_ohm"),
                                        ("YNyn0", "from_neutral_resistance_ohm")])
def test_impedance_in_a_neutral_that_is_brought_out(group, key):
    assert getattr(parse(change("transformer", vector_group=group, **{key: 20.0})).transformers[0], key) == 20.0


@pytest.mark.parametrize("group, key, winding, written", [
    ("Dyn11", "from_neutral_resistance_ohm", "D", "YN"), ("YNd11", "to_neutral_reactance_ohm", "d", "yn"),
    ("Yyn0", "from_neutral_resistance_ohm", "Y", "YN"), ("YNy0", "to_neutral_resistance_ohm", "y", "yn")])
def test_impedance_in_a_neutral_that_is_not_there(group, key, winding, written):
    assert find_mistake(change("transformer", vector_group=group, **{key: 20.0})) == (
        f'subsea_transformer.{key} = 20.0: the {winding} winding of vector_group = "{group}" has no neutral to earth. '
        f"Remove it or give the winding as {written}.")


def test_no_impedance_is_sound_anywhere():
    assert parse(change("transformer", from_neutral_resistance_ohm=0.0)).transformers


def test_neutral_of_a_grid():
    assert parse(change("grid", neutral_resistance_ohm=20.0)).grids[0].neutral_resistance_ohm == 20.0
    assert find_mistake(change("grid", neutral_reactance_ohm=20.0, earthed=False)) == (
        "host_grid.neutral_reactance_ohm = 20.0: earthed = false leaves the neutral open. Remove it or write earthed = "
        "true.")


def test_bank_magnetises_alike_in_every_sequence():
    assert find_mistake(change("transformer", core="bank", zero_magnetising_pct=60.0)).startswith(
        "subsea_transformer.zero_magnetising_pct = 60.0: the units of a bank magnetise alike in every sequence.")


@pytest.mark.parametrize("kind, values, told", [
    ("transformer", {"remanence_pu": [0.8, -0.96, 0.0]},
     "subsea_transformer.remanence_pu[2] = -0.96: must be >= -0.95 and <= 0.95."),
    ("transformer", {"remanence_pu": [0.8]}, "subsea_transformer.remanence_pu = [0.8]: must hold 3 values"),
    ("cable", {"trapped_pu": [1.0, -1.0]}, "umbilical.trapped_pu = [1.0, -1.0]: must hold 3 values"),
    ("cable", {"trapped_pu": [1.0, -1.0, 2.5]}, "umbilical.trapped_pu[3] = 2.5: must be >= -2 and <= 2.")])
def test_values_of_the_phases(kind, values, told):
    assert find_mistake(change(kind, **values)).startswith(told)


@pytest.mark.parametrize("values, told", [
    ({"curve_a": [1.0, 1e4]}, ["curve_kv: missing, curve_a is given. A curve has a voltage for each current."]),
    ({"curve_kv": [16.0, 22.0]}, ["curve_a: missing, curve_kv is given."]),
    ({"curve_a": [1.0, 1e3, 1e4], "curve_kv": [16.0, 22.0]},
     ["curve_kv: holds 2 numbers, curve_a holds 3. Give one voltage for each current."]),
    ({"curve_a": [1.0, 1e4, 1e3], "curve_kv": [16.0, 18.0, 22.0]}, ["curve_a = [1.0, 10000.0, 1000.0]: must ascend."]),
    ({"curve_a": [1.0, 1e3, 1e4], "curve_kv": [16.0, 16.0, 22.0]}, ["curve_kv = [16.0, 16.0, 22.0]: must ascend."]),
    ({"curve_a": [1e4], "curve_kv": [22.0]}, ["curve_a = [10000.0]: must hold 2 numbers", "curve_kv = [22.0]: must"]),
    ({"curve_a": [], "curve_kv": []}, ["curve_a = []: must hold 2 numbers", "curve_kv = []: must hold 2"]),
    ({"curve_a": [-1.0, 1e4], "curve_kv": [16.0, 22.0]}, ["curve_a[1] = -1.0: must be >= 0"]),
    ({"curve_a": [1.0, 1e4], "curve_kv": [16.0, 22.0], "residual_kv": 22.0},
     ["residual_kv = 22.0: follows from curve_a and curve_kv. Keep one of the two."]),
    ({"continuous_kv": 9.5}, ["continuous_kv = 9.5: must be <= rated_kv = 9, commonly 0.8 of it."]),
    ({"residual_kv": 12.0}, ["residual_kv = 12.0: must be > 12.73, the crest of rated_kv = 9."])])
def test_arrester(values, told):
    mistakes = find_mistakes(change("arrester", **values))
    assert len(mistakes) == len(told)
    assert all(mistake.startswith(f"bus_arrester.{start}") for mistake, start in zip(mistakes, told))


AT_NODE = {"name": "short", "node": "cable_end", "at_s": 2.0, "phases": "ab"}


@pytest.mark.parametrize("values, told", [
    ({"cable": "umbilical", "at_km": 3.0}, "short: node and cable are given. Keep node for a fault at a node"),
    ({"node": None}, "short: no place given. Add node = the node the fault is at, or cable and at_km"),
    ({"node": None, "cable": "umbilical"}, "short.at_km: missing. Add at_km = a number in km, the distance from the"),
    ({"at_km": 3.0}, "short.at_km = 3.0: belongs to a fault on a cable."),
    ({"phases": "b", "earth": False}, "short.earth = false: phase b alone joins nothing without earth. Write earth = "
                                      'true or name two phases or more, such as phases = "ab".'),
    ({"earth": False, "earth_resistance_ohm": 3.0}, "short.earth_resistance_ohm = 3.0: means nothing with earth ="),
    ({"clear_s": 2.0}, "short.clear_s = 2.0: must be > at_s = 2."),
    ({"clear_s": 0.1}, "short.clear_s = 0.1: must be > at_s = 2."),
    ({"phases": "cb"}, 'short.phases = "cb": must be one of "a", "b", "c", "ab", "bc", "ca", "abc".'),
    ({"phases": "ac"}, 'short.phases = "ac": must be one of'),
    ({"resistance_ohm": -1.0}, "short.resistance_ohm = -1.0: must be >= 0"),
    ({"at_s": 10.5}, "short.at_s = 10.5: must be <= study.duration_s = 10. Move the fault or lengthen the study.")])
def test_fault(values, told):
    fault = {key: value for key, value in (AT_NODE | values).items() if value is not None}
    assert find_mistake(make(fault=[fault])).startswith(told)


def test_fault_has_no_grade():
    assert find_mistake(make(fault=[AT_NODE | {"grade": "A"}])).startswith('short.grade = "A": unknown key.')


def test_mistakes_of_all_tables_are_told_at_once():
    data = change("breaker", insertion_ohm=400.0, scatter_ms=-1.0)
    data["grid"][0] |= {"earthed": False, "neutral_resistance_ohm": 5.0}
    data["arrester"][0] |= {"curve_a": [1.0, 2.0], "node": "subsea_buss"}
    data["fault"][0] |= {"at_km": 40.0, "earth": False}
    data["shots"]["trapped_cables"] = ["umbilicus"]
    starts = ["feeder_breaker.insertion_ms: missing", "feeder_breaker.scatter_ms = -1.0",
              "host_grid.neutral_resistance_ohm", "bus_arrester.curve_kv: missing", "bus_arrester.node = ",
              "short.at_km = 40.0", "short.earth = false",
              "shots.trapped_cables[1] = "]
    mistakes = find_mistakes(data)
    assert len(mistakes) == len(starts)
    assert all(any(mistake.startswith(start) for mistake in mistakes) for start in starts)


@pytest.mark.parametrize("data, told", [
    (change("breaker", quench_a_per_us=300.0),
     "feeder_breaker.quench_a_per_us: means nothing without recovery_rise_kv_per_ms and is left out"),
    (change("breaker", rated_kv=24.0), "feeder_breaker.rated_kv = 24: below the 33 kV of host_grid.rated_kv"),
    (change("reactor", saturated_pct=40.0), "compensator.saturated_pct: means nothing without knee_pu and is left out"),
    (change("fault", clear_s=11.0), "short.clear_s = 11: after study.duration_s = 10, the fault stays to the end"),
    (make_switched(shots={"breaker": "feeder_breaker", "at_s": 0.6}),
     "shots.at_s = 0.6: feeder_breaker is closed already then, no closing is seen")])
def test_warnings(data, told):
    assert parse(data).warnings == [told]


@pytest.mark.parametrize("data", [change("breaker", **RACE), change("reactor", knee_pu=1.3, saturated_pct=40.0),
                                  change("fault", clear_s=2.1), make_driven(), make_switched(),
                                  make_switched(shots={"breaker": "feeder_breaker", "at_s": 0.5})])
def test_sound_tables_have_no_warnings(data):
    assert parse(data).warnings == []
