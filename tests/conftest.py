"""Helpers of the tests (`factories`, `reference`, `runs`) are found whatever directory is collected."""

import os
import sys
from pathlib import Path

import pytest
from hypothesis import settings

# a process for each core: threads of the linear algebra beside them would only wait for each other
for name in ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ.setdefault(name, "1")

HERE = str(Path(__file__).parent)
if HERE not in sys.path:
    sys.path.insert(0, HERE)

settings.register_profile("untimed", deadline=None)     # how busy the machine is says nothing about the project
settings.load_profile("untimed")


@pytest.fixture(scope="session", autouse=True)
def shared_runs(tmp_path_factory):
    """The folder in which the processes of a session share their runs, see `runs`."""
    base = tmp_path_factory.getbasetemp()
    folder = (base.parent if base.name.startswith("popen-") else base) / "runs"
    folder.mkdir(exist_ok=True)
    os.environ["STEPOUT_TEST_RUNS"] = str(folder)
