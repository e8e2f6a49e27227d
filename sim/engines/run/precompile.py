"""Compile or load the kernels before the clock of a run starts.

A cold start compiles two kernels of similar weight.  The compiler works on one core, so a second process
takes the waveform kernel and leaves it in the cache while this one compiles the envelope kernel (measured
on two cores, whole command: 71 s one after the other, 39 s side by side).
"""

import subprocess
import sys
from pathlib import Path

import numba

from sim.case import parse_case
from sim.engines.envelope.engine import EnvelopeEngine
from sim.engines.handover import dead_state, to_waveform
from sim.engines.waveform.engine import WaveformEngine
from sim.network.build import build_network

# any network will do: the kernels are compiled for types, not for sizes
SMALLEST = """
title = "smallest"
[study]
duration_s = 1.0
[[grid]]
name = "host"
node = "bus"
rated_kv = 10.0
short_circuit_mva = 100.0
"""


def compile_envelope():
    network = build_network(parse_case(SMALLEST))
    EnvelopeEngine(network, 1e-4, 1.0).advance(dead_state(network), 0.0, 0.0)


def compile_waveform():
    network = build_network(parse_case(SMALLEST))
    WaveformEngine(network, 1e-6).load(to_waveform(network, dead_state(network)))


def load_kernels():
    """Both kernels, from the cache or compiled."""
    helper = None if _is_cached("waveform_steps") else subprocess.Popen(
        [sys.executable, "-c", "from sim.engines.run.precompile import compile_waveform; compile_waveform()"],
        stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    try:
        compile_envelope()
        if helper:
            helper.wait()
    finally:
        if helper:
            helper.kill()
    compile_waveform()


def _is_cached(kernel):
    folder = numba.config.CACHE_DIR
    return not folder or any(Path(folder).rglob(f"*.{kernel}-*.nbi"))
