"""Kernels are compiled once: what is in the cache starts no second process, and any network loads them."""

import subprocess

import pytest

from sim.case import parse_case
from sim.engines.run.precompile import SMALLEST, load_kernels


def test_kernels_in_the_cache_start_no_second_process(monkeypatch):
    load_kernels()
    monkeypatch.setattr(subprocess, "Popen", lambda *given, **more: pytest.fail("a second process was started"))
    load_kernels()


def test_the_smallest_network_is_a_case_without_warnings_of_its_data():
    assert parse_case(SMALLEST, strict=True).grids
