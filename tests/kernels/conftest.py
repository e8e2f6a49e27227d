"""Kernels as the functions they were compiled from."""

import sys

import pytest


@pytest.fixture
def plain_python(monkeypatch):
    """Every kernel that is loaded runs as plain Python: those that only kernels may call can then be called too.

    Nothing is left to do where NUMBA_DISABLE_JIT is set.
    """
    for name, module in list(sys.modules.items()):
        if name.startswith("sim.kernels"):
            for key, kernel in list(vars(module).items()):
                if hasattr(kernel, "py_func"):
                    monkeypatch.setattr(module, key, kernel.py_func)
