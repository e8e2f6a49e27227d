"""JSON texts are strict (RFC 8259 has no NaN) and the exact form loses nothing."""

import json
from math import inf, nan

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from sim.store.jsontext import from_exact_json, to_exact_json, to_json

VALUES = st.recursive(st.none() | st.booleans() | st.floats() | st.integers() | st.text(),
                      lambda inner: st.lists(inner) | st.dictionaries(st.text(), inner))


def refuse(constant):
    raise AssertionError(f"{constant} is not JSON")


@given(VALUES)
def test_exact_json_is_strict_and_exact(value):
    text = to_exact_json(value)
    json.loads(text, parse_constant=refuse)
    if "float" not in text:
        assert repr(from_exact_json(text)) == repr(value)


@given(VALUES)
def test_json_is_strict(value):
    json.loads(to_json(value), parse_constant=refuse)


def test_numbers_that_are_not_finite():
    value = {"a": [nan, inf, -inf, 1.0], "float": {"float": 2.0}}
    assert json.loads(to_json(value)) == {"a": [None, None, None, 1.0], "float": {"float": 2.0}}
    assert repr(from_exact_json(to_exact_json(value))) == repr(value)


def test_numpy_values_become_plain():
    value = {"t_s": np.float64(0.5), "n": np.int64(3), "on": np.bool_(True), "y": np.array([1.0, np.nan]),
             "x": np.float32("nan")}
    assert json.loads(to_json(value)) == {"t_s": 0.5, "n": 3, "on": True, "y": [1.0, None], "x": None}
