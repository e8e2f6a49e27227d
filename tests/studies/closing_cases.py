"""Cases with closings at random, small enough to close many times."""

from sim.case import parse_case

RING_HZ = 500.0         # of the bank against the grid
CREST = (2.0 / 3.0) ** 0.5

# 10 kV, 500 MVA: 0.2 ohm; a bank of 1 / (2 pi 500)^2 / 0.637 mH rings at 500 Hz
BANK = """
[[grid]]
name = "shore"
node = "bus"
rated_kv = 10.0
short_circuit_mva = 500.0
x_over_r = 500.0
phase_deg = 25.0

[[breaker]]
name = "gear"
from = "bus"
to = "head"
closed = false
{breaker}

[[shunt]]
name = "bank"
node = "head"
capacitance_uf = 159.155
"""
FEEDER = """
[[grid]]
name = "shore"
node = "bus"
rated_kv = 10.0
short_circuit_mva = 200.0

[[breaker]]
name = "gear"
from = "bus"
to = "head"
closed = false
{breaker}

[[cable]]
name = "line"
from = "head"
to = "tail"
length_km = 20.0
resistance_ohm_per_km = 0.246
inductance_mh_per_km = 0.41
capacitance_uf_per_km = 0.18

[[transformer]]
name = "unit"
from = "tail"
to = "load_bus"
rated_mva = 4.0
from_kv = 10.0
to_kv = 6.6
impedance_pct = 8.0
vector_group = "Dyn11"
"""


def write_text(body=BANK, breaker="", shots="", event=0.02, duration=0.04, more=""):
    """Case text: `breaker` and `shots` are lines of their tables."""
    return "\n".join(['title = "closings"', f"[study]\nduration_s = {duration}\nwaveform_step_us = 4.0",
                      f'[shots]\nbreaker = "gear"\n{shots}', body.format(breaker=breaker),
                      f'[[event]]\nat_s = {event}\naction = "close"\ntarget = "gear"', more])


def make_case(*arguments, **settings):
    return parse_case(write_text(*arguments, **settings))
