"""Runs that several tests look at: each case is simulated once in a session, whichever process asks first.

The session's processes share a folder of pytest's.  A run is kept there under the hash of its case and overrides and
the engine; a lock makes a second process wait for the first.  Every caller gets objects of its own, so that no test
sees what another has changed.  Nothing outlives the session.
"""

import fcntl
import os
import pickle
from contextlib import contextmanager
from pathlib import Path

from sim.case import load_case
from sim.engines.run import timeline
from sim.measures import summarise

CASES = Path(__file__).parents[1] / "cases"
FOLDER = "STEPOUT_TEST_RUNS"    # variable that names the session's folder, set as it starts


@contextmanager
def locked(path):
    """Hold a lock on a file until the end of the block; it also falls when its process ends."""
    with open(path, "w") as handle:
        fcntl.flock(handle, fcntl.LOCK_EX)
        yield


def once(name, make):
    """What `make` gives, computed by one process of the session and read by all others."""
    kept = Path(os.environ[FOLDER]) / f"{name}.pickle"
    with locked(kept.with_suffix(".lock")):
        if not kept.exists():
            fresh = kept.with_suffix(".fresh")
            fresh.write_bytes(pickle.dumps(make(), protocol=pickle.HIGHEST_PROTOCOL))
            fresh.rename(kept)
    return pickle.loads(kept.read_bytes())


def simulate(case, engine=None):
    """Result of a case as it was parsed: its records must be those of its text and overrides."""
    return _simulate(case, engine)[0]


def _simulate(case, engine):
    """Result, and how often the run told its progress."""
    ticks = []
    return once(f"{case.sha256}-{engine}", lambda: (timeline.simulate(case, engine, ticks.append), len(ticks)))


def run(case, engine=None):
    """Result and summary of a case as it was parsed."""
    result = simulate(case, engine)
    return result, summarise(result)


def simulate_shipped(name, *overrides, engine=None):
    """Result of one of the shipped cases: its path below cases/, without the ending."""
    return simulate(load_case(CASES / f"{name}.toml", overrides), engine)


def count_calls(name, engine=None):
    """How often a shipped case called its kernels: it tells its progress after each call."""
    return _simulate(load_case(CASES / f"{name}.toml"), engine)[1]
