"""Synthetic runs, made once: the figures only read them."""

import figure_runs
import pytest


@pytest.fixture(scope="session")
def drive_run():
    return figure_runs.make_drive_run()


@pytest.fixture(scope="session")
def direct_run():
    return figure_runs.make_direct_run(samples=60_000)


@pytest.fixture(scope="session")
def stalled_run():
    return figure_runs.make_stalled_run()


@pytest.fixture(scope="session")
def group_run():
    return figure_runs.make_group_run()


@pytest.fixture(scope="session")
def bare_run():
    return figure_runs.make_bare_run()


@pytest.fixture(scope="session")
def empty_run():
    return figure_runs.make_empty_run()
