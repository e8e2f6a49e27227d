"""Random case files, run from end to end: no crash, no number out of range, energy kept, nothing that alternates.

Forty of them always; three hundred more with the marker `long` (`pytest -m long tests/cross/test_random_cases.py`).
"""

import numpy as np
import pytest
from reference import random_cases

from sim.case import parse_case
from sim.engines.run.timeline import simulate
from sim.measures import summarise

SEEDS = range(40)
MORE = range(40, 340)
# Defects of the engine, measured in per cent of the energy: 0.36, 0.40, 2.0 and 6.8 where pulses have edges beyond the
# band (1e-3 or less without the pulses), 11.2 at 249, a tuned shunt beside saturated cores.
KNOWN = {**dict.fromkeys((88, 99, 148, 208), "edges of pulses beyond the band"),
         249: "a tuned shunt beside saturated cores"}


def check_run(seed):
    """Run one random case and judge what every run is judged by."""
    text = random_cases.write_toml(random_cases.random_case(seed), f"random {seed}")
    result = simulate(parse_case(text, name=f"random_{seed}"))
    assert result.failure is None
    for stretch in result.stretches:
        for name, signals in stretch.signals.items():
            for quantity, values in signals.items():
                assert np.isfinite(values).all(), (name, quantity)
    judged = {row["id"]: row for row in summarise(result)["criteria"] if row["id"] in ("energy_residual", "chatter")}
    assert set(judged) == {"energy_residual", "chatter"}
    for row in judged.values():
        assert row["value"] is None or row["value"] <= row["limit"], row
    assert judged["energy_residual"]["value"] is not None


@pytest.mark.parametrize("seed", SEEDS)
def test_random_case(seed):
    check_run(seed)


@pytest.mark.long
@pytest.mark.parametrize("seed", [pytest.param(seed, marks=[pytest.mark.xfail(reason=KNOWN[seed], strict=True)]
                                               if seed in KNOWN else []) for seed in MORE])
def test_more_random_cases(seed):
    check_run(seed)
