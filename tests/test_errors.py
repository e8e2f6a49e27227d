"""Errors carry an exit code, a hint and survive the way back from a worker process."""

import pickle

import pytest

from sim.errors import CaseError, SolveError, StepoutError, StoreError


@pytest.mark.parametrize("error, code", [
    (StepoutError("x"), 1), (CaseError(["x"]), 2), (SolveError("bus", 0.5, "shorten the step"), 1),
    (StoreError("x"), 1)])
def test_exit_codes(error, code):
    assert error.exit_code == code and isinstance(error, StepoutError)


def test_case_error_lists_all_mistakes():
    error = CaseError(["a = 1: bad.", "b: missing."])
    assert str(error) == "2 mistakes in the case\n  a = 1: bad.\n  b: missing."
    assert error.mistakes == ["a = 1: bad.", "b: missing."] and error.hint
    assert str(CaseError(["a"])).startswith("1 mistake in")


def test_solve_error_names_component_time_and_remedy():
    error = SolveError("umbilical", 0.25, "lower study.bandwidth_khz")
    assert str(error) == "umbilical at t = 0.25 s: lower study.bandwidth_khz"
    assert (error.component, error.time_s, error.remedy) == ("umbilical", 0.25, "lower study.bandwidth_khz")


def test_hint_can_be_given():
    assert StoreError("disk full", hint="free some space").hint == "free some space"
    assert StoreError("disk full").hint is None


def test_errors_survive_pickling():
    error = SolveError("bus", 1.0, "wait")
    error.partial = {"t": 1.0}
    again = pickle.loads(pickle.dumps(error))
    assert str(again) == str(error) and again.partial == {"t": 1.0}
    assert pickle.loads(pickle.dumps(CaseError(["x", "y"]))).mistakes == ["x", "y"]
