"""Text that is no case at all: a mistake with a place, never a traceback."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sim.case import load_case, parse_case
from sim.components import KINDS, SINGLE
from sim.errors import CaseError

from ..sample import make, make_driven, write

LINES = write(make()).splitlines() + write(make_driven()).splitlines()
VALUES = ["-1", "0", "1e400", "nan", "-inf", "true", '"x"', "[]", "{}", "9" * 30, "9" * 400, "[1, 2]", '""',
          '"a.b"',
          "1979-05-27", '"subsea_bus"', '"booster"', "{a = 1}", "[[1]]", "1e-320", '"D"', '[{name = "q"}]']
KEYS = [*SINGLE, *KINDS, "title", "name", "from", "to", "node"]
LEAVES = st.one_of(st.none(), st.booleans(), st.integers(), st.floats(), st.text(max_size=8),
                   st.sampled_from(KEYS))
GARBAGE = st.recursive(LEAVES, lambda inner: st.lists(inner, max_size=3)
                       | st.dictionaries(st.sampled_from(KEYS) | st.text(max_size=5), inner, max_size=4))


def find_reaction(text, *overrides):
    """Mistakes of a text, [] when it is a case."""
    try:
        parse_case(text, overrides)
    except CaseError as error:
        assert error.mistakes and all(isinstance(mistake, str) and mistake for mistake in error.mistakes)
        return error.mistakes
    return []


@pytest.mark.parametrize("text, told", [
    ("[study]\nduration_s = \n", "case file: not valid TOML, Invalid value (at line 2, column 14)."),
    ("[study]\nduration_s = 1\nduration_s = 2\n", "case file: not valid TOML, Cannot overwrite a value (at "
     "line 3"),
    ("[[cable]\n", "case file: not valid TOML"),
    ("a = " + "9" * 5000, "case file: not readable TOML"),
    ("a = " + "[" * 5000 + "]" * 5000, "case file: not readable TOML")])
def test_not_toml(text, told):
    assert len(find_reaction(text)) == 1
    assert find_reaction(text)[0].startswith(told)


def test_empty_text_tells_what_a_case_needs():
    assert find_reaction("") == ["study.duration_s: missing. Add duration_s = a number in s >= 0.001 and <= "
                                 "36000, the simulated time."]


@settings(max_examples=200, deadline=None, derandomize=True)
@given(st.text(max_size=200))
def test_any_text(text):
    assert find_reaction(text)


@settings(max_examples=200, deadline=None, derandomize=True)
@given(st.lists(st.sampled_from(LINES), max_size=40))
def test_lines_in_any_order(lines):
    assert isinstance(find_reaction("\n".join(lines)), list)


@settings(max_examples=200, deadline=None, derandomize=True)
@given(st.data())
def test_any_value_in_any_place(draw):
    lines = write(draw.draw(st.sampled_from([make(), make_driven()]))).splitlines()
    for _ in range(draw.draw(st.integers(1, 4))):
        k = draw.draw(st.integers(0, len(lines) - 1))
        if "=" in lines[k]:
            lines[k] = lines[k].partition("=")[0] + "= " + draw.draw(st.sampled_from(VALUES))
    assert isinstance(find_reaction("\n".join(lines)), list)


@settings(max_examples=200, deadline=None, derandomize=True)
@given(st.dictionaries(st.sampled_from(KEYS), GARBAGE, max_size=5))
def test_any_tables(data):
    data = drop_none(data)
    assert find_reaction("\n".join(f"{key} = {write_any(value)}" for key, value in data.items()))


@settings(max_examples=100, deadline=None, derandomize=True)
@given(st.text(alphabet="umbilical.length_km=booster motor[]{}\"'0", max_size=30))
def test_any_override(override):
    assert isinstance(find_reaction(write(make()), override), list)


def drop_none(value):
    """TOML has no null: the same without it."""
    if isinstance(value, dict):
        return {key: drop_none(inner) for key, inner in value.items() if inner is not None}
    return [drop_none(inner) for inner in value if inner is not None] if isinstance(value, list) else value


def write_any(value):
    """Inline TOML of any value; text is written so that every character is legal."""
    if isinstance(value, dict):
        return "{" + ", ".join(f"{write_any(str(key))} = {write_any(inner)}" for key,
                               inner in value.items()) + "}"
    if isinstance(value, list):
        return "[" + ", ".join(map(write_any, value)) + "]"
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, str):
        return '"' + "".join(f"\\U{ord(c):08x}" if c < " " or c in '"\\' or ord(c) > 126 else c
                             for c in value if not 0xD800 <= ord(c) < 0xE000) + '"'
    return repr(value)


def test_missing_file_and_folder(tmp_path):
    for path in (tmp_path / "none.toml", tmp_path):
        with pytest.raises(CaseError, match="cannot be read"):
            load_case(path)


def test_file_that_is_not_text(tmp_path):
    path = tmp_path / "case.toml"
    path.write_bytes(b"title = \"\xff\"\n")
    with pytest.raises(CaseError, match="not UTF-8 text at byte 9"):
        load_case(path)


def test_windows_line_ends_and_byte_order_mark(tmp_path):
    path = tmp_path / "case.toml"
    path.write_bytes(b"\xef\xbb\xbf" + write(make()).replace("\n", "\r\n").encode())
    assert load_case(path).text == write(make())
