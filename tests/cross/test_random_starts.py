"""Both engines on sixty random balanced starts: outcome, time to speed, lowest voltage and largest current.

Both solve the same equations, so that what separates them are a few stated things, each of which is checked where it
counts for more than AGREE:

phases      The waveform engine leaves three phase voltages, and the lowest of three RMS values is the one that is told.
            The envelope engine leaves their space vector, whose mean square is that of all three.  While a closing's
            offset, or the inrush that it drives, turns in the phases they differ by some per cent.  Check: the space
            vector of the waveform run gives the envelope's value.
cores       The envelope engine alone carries the fundamental of a core beyond its knee (describing function), says so,
            and leaves harmonics and the part of an offset out.  At the low frequency of a drive at its current limit
            that decides how much voltage is left.  Check: it has said so; with linear iron the engines agree on
            everything; the default, which looks at such cores in phases, agrees with the waveform engine as they are,
            but for the largest current: between its looks a core with an offset is still carried by its fundamental,
            which has none.  CORE_CURRENT is what that left of it at most when it was measured (seeds 26: 3.7 %, 38:
            5.5 %), a limit of the default and not of the comparison.
"""

from dataclasses import replace

import pytest
from reference.random_starts import random_start

from sim.case import parse_case
from sim.engines.run.timeline import simulate
from sim.measures import summarise

AGREE = 0.02                    # of the waveform engine's value
CORE_CURRENT = 0.06             # largest current through saturated cores with the default engine
JUDGED = ("time_to_speed_s", "min_voltage_pu", "peak_current_pu")
PHASES, CORES = {13, 16, 52}, {14, 20, 26, 35, 38, 47}
FAST = (*range(11), 16)
BEYOND_KNEE = "the envelope engine carries the fundamental of its current alone"


def start(text, engine):
    result = simulate(parse_case(text), engine)
    assert result.failure is None
    return result, summarise(result)["motors"]["motor"]


def differ(found, expected, **agree):
    """What is further apart than AGREE, or what `agree` says of it, or there in one run only."""
    apart = [] if found["outcome"] == expected["outcome"] else ["outcome"]
    for key in JUDGED:
        missing = [values[key] is None for values in (found, expected)]
        if any(missing):
            apart += [] if all(missing) else [key]
        elif abs(found[key] - expected[key]) > agree.get(key, AGREE) * expected[key]:
            apart.append(key)
    return apart


def without_phases(result):
    """The same run as space vectors alone."""
    phases = tuple(f"voltage_{phase}" for phase in "abc")
    return replace(result, stretches=[
        replace(one, signals={name: {key: values for key, values in signals.items() if key not in phases}
                              for name, signals in one.signals.items()}) for one in result.stretches])


def with_linear_iron(text):
    """The same start with knees that no flux of it reaches."""
    for head in ("[[transformer]]", "[machine.motor]"):
        text = text.replace(head, f"{head}\nknee_pu = 3.0")
    return text


def check(seed):
    text = random_start(seed)
    result, envelope = start(text, "envelope")
    whole, waveform = start(text, "waveform")
    if seed in PHASES:
        assert differ(envelope, waveform) == ["min_voltage_pu"]
        waveform = summarise(without_phases(whole))["motors"]["motor"]
    if seed in CORES:
        assert any(BEYOND_KNEE in warning for warning in result.warnings)
        assert differ(envelope, waveform)
        envelope = start(text, "auto")[1]
        linear = [start(with_linear_iron(text), engine)[1] for engine in ("envelope", "waveform")]
        assert not differ(*linear)
    assert not differ(envelope, waveform, **({"peak_current_pu": CORE_CURRENT} if seed in CORES else {}))


@pytest.mark.parametrize("seed", FAST)
def test_engines_agree(seed):
    check(seed)


@pytest.mark.long
@pytest.mark.parametrize("seed", [seed for seed in range(60) if seed not in FAST])
def test_engines_agree_on_all(seed):
    check(seed)
