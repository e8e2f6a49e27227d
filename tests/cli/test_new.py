"""`stepout new`: the starter cases are whole, commented and valid, and no file is overwritten."""

import tomllib

import pytest

from sim.case import parse_case
from sim.cli.commands.new import KINDS, read_starter

EVERY = pytest.mark.parametrize("kind", KINDS)


def list_lines(kind):
    """Lines that give a value, those that are commented out included."""
    lines = read_starter(kind).splitlines()
    return [line for line in lines if line[:1] not in ("", "[") and not line.startswith("# ") and line != "#"]


def count_numbers(value):
    if isinstance(value, dict):
        return sum(count_numbers(inner) for inner in value.values())
    if isinstance(value, list):
        return sum(count_numbers(inner) for inner in value)
    return int(isinstance(value, (int, float)) and not isinstance(value, bool))


@EVERY
def test_stdout_is_the_case_and_nothing_else(call, kind):
    done = call("new", kind)
    assert done.exit_code == 0 and done.stderr == ""
    assert done.stdout == read_starter(kind) and done.stdout.endswith("\n")
    assert tomllib.loads(done.stdout)["title"]


@EVERY
def test_file_is_the_same_to_the_last_line(call, kind, tmp_path):
    done = call("new", kind, "--out", tmp_path / "my.toml")
    assert done.exit_code == 0 and done.stdout == "" and f"stepout check {tmp_path / 'my.toml'}" in done.stderr
    assert (tmp_path / "my.toml").read_text(encoding="utf-8") == read_starter(kind)
    assert [path.name for path in tmp_path.iterdir()] == ["my.toml"]


@EVERY
def test_starter_is_valid(call, kind, tmp_path):
    call("new", kind, "--out", tmp_path / "my.toml")
    done = call("check", tmp_path / "my.toml")
    assert done.exit_code == 0 and ": valid; " in done.stdout.splitlines()[-1], done.stderr


@EVERY
def test_starter_starts(call, kind, tmp_path):
    """A case to learn from: it comes up to speed within all limits."""
    call("new", kind, "--out", tmp_path / "my.toml")
    done = call("run", tmp_path / "my.toml", "--out", tmp_path / "my.h5")
    assert done.exit_code == 0 and done.stdout.splitlines()[-1].startswith("starts: "), done.stdout + done.stderr


@EVERY
def test_lines_that_are_commented_out_are_valid_too(kind):
    text = read_starter(kind)
    shown = [line for line in list_lines(kind) if line.startswith("#")]
    assert len(shown) >= 3
    for line in shown:
        text = text.replace(f"\n{line}\n", f"\n{line[1:]}\n")
    given = [entry for entry in parse_case(text).used.values() if entry["origin"] == "given"]
    named = [line for line in list_lines(kind) if line.startswith(("title =", "name ="))]   # no entries of their own
    assert len(given) == len(list_lines(kind)) - len(named)


@EVERY
def test_every_line_says_what_it_is_and_what_it_is_by_default(kind):
    for line in list_lines(kind):
        _, mark, comment = line[1:].partition("# ")
        assert mark and comment, line
        assert line.split()[0] in ("name", "from", "to", "node") or "default" in comment or "needed" in comment, line


@EVERY
def test_few_numbers_are_asked_for(kind):
    """A first study is made from about 15 numbers; two networks or two sections of cable need some more."""
    assert 12 <= count_numbers(tomllib.loads(read_starter(kind))) <= 22


@EVERY
def test_far_side_is_joined_by_a_front_end(kind):
    """Two networks, the drive's input at a node of the one and its output at a node of the other."""
    case = tomllib.loads(read_starter(kind))
    is_far = kind == "far-drive"
    assert ("grid" in case and "drive" in case) == is_far
    fronts = [drive["front_end"]["node"] for drive in case.get("drive", []) if "front_end" in drive]
    assert fronts == (["subsea_bus"] if is_far else [])


def test_existing_file_is_left_alone(call, tmp_path):
    path = tmp_path / "mine.toml"
    path.write_text("my work")
    done = call("new", "direct", "--out", path)
    assert done.exit_code == 2 and path.read_text() == "my work"
    assert str(path) in done.stderr and "another name" in done.stderr


def test_directory_is_left_alone(call, tmp_path):
    done = call("new", "direct", "--out", tmp_path)
    assert done.exit_code == 2 and "exists already" in done.stderr and not list(tmp_path.iterdir())


def test_link_to_nowhere_is_left_alone(call, tmp_path):
    (tmp_path / "link.toml").symlink_to(tmp_path / "elsewhere.toml")
    assert call("new", "direct", "--out", tmp_path / "link.toml").exit_code == 2
    assert not (tmp_path / "elsewhere.toml").exists()


def test_missing_directory_is_told(call, tmp_path):
    done = call("new", "direct", "--out", tmp_path / "no" / "such.toml")
    assert done.exit_code == 1 and "there is no directory" in done.stderr


@pytest.mark.parametrize("given, expected", [
    ("host_drive", "Did you mean host-drive?"), ("downhle", "Did you mean downhole?"),
    ("zzz", "Known kinds: host-drive, far-drive, direct, downhole.")])
def test_unknown_kind_suggests(call, given, expected):
    done = call("new", given)
    assert done.exit_code == 2 and done.stdout == "" and given in done.stderr and expected in done.stderr


def test_help_lists_the_kinds(call):
    done = call("new", "--help")
    assert done.exit_code == 0 and all(f"  {kind} " in done.stdout for kind in KINDS)
