"""A result appears whole or not at all, and what cannot be written is known beforehand."""

import os
import subprocess
import sys
from pathlib import Path

import pytest
from factories import make_run

from sim.errors import StoreError
from sim.store.outputs import check_directory, check_file, make_directory, replace_file, write_text
from sim.store.read import open_run
from sim.store.write import write_run

DISK_FULL = """
import resource, signal, sys
from factories import make_run
from sim.errors import StoreError
from sim.store.write import write_run
result, summary = make_run()
signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
resource.setrlimit(resource.RLIMIT_FSIZE, (60000, 60000))
try:
    write_run(sys.argv[1], result, summary)
except StoreError as error:
    print("refused:", error)
"""


def names(directory):
    return sorted(path.name for path in directory.iterdir())


def test_a_failure_while_writing_leaves_the_old_file_and_nothing_else(tmp_path):
    (tmp_path / "run.h5").write_text("old")
    for error in (OSError(28, "No space left on device"), RuntimeError("cannot flush")):
        with (pytest.raises(StoreError, match="cannot be written"),
              replace_file(tmp_path / "run.h5") as beside):
            beside.write_text("half")
            raise error
    assert (tmp_path / "run.h5").read_text() == "old" and names(tmp_path) == ["run.h5"]


def test_an_interruption_while_writing_leaves_the_old_file_and_nothing_else(tmp_path, monkeypatch):
    result, summary = make_run()
    write_run(tmp_path / "run.h5", result, summary)
    before = (tmp_path / "run.h5").read_bytes()

    def interrupt(*arguments):
        raise KeyboardInterrupt

    monkeypatch.setattr("sim.store.write.write_stretches", interrupt)
    with pytest.raises(KeyboardInterrupt):
        write_run(tmp_path / "run.h5", result, summary)
    assert (tmp_path / "run.h5").read_bytes() == before and names(tmp_path) == ["run.h5"]


def test_the_target_changes_only_when_the_file_is_whole(tmp_path):
    write_text(tmp_path / "a.txt", "old")
    with replace_file(tmp_path / "a.txt") as beside:
        beside.write_text("new")
        assert beside.parent == tmp_path and (tmp_path / "a.txt").read_text() == "old"
    assert (tmp_path / "a.txt").read_text() == "new"


def test_a_full_disk_is_told_and_leaves_nothing(tmp_path):
    """A limit on the size of files stands in for a full disk: both refuse a write halfway."""
    tests = Path(__file__).parents[1]
    paths = {**os.environ, "PYTHONPATH": os.pathsep.join([str(tests), str(tests.parent)])}
    done = subprocess.run([sys.executable, "-c", DISK_FULL, str(tmp_path / "run.h5")], env=paths,
                          capture_output=True, text=True)
    assert done.stdout.startswith("refused:") and "cannot be written" in done.stdout, done.stderr
    assert done.returncode == 0 and done.stderr == "" and names(tmp_path) == []


def test_a_link_stays_a_link(tmp_path):
    (tmp_path / "data").mkdir()
    (tmp_path / "latest.h5").symlink_to(tmp_path / "data" / "run.h5")
    write_run(tmp_path / "latest.h5", *make_run())
    assert (tmp_path / "latest.h5").is_symlink()
    assert open_run(tmp_path / "data" / "run.h5").complete


def test_checking_a_file_touches_nothing(tmp_path):
    (tmp_path / "old.h5").write_text("old")
    check_file(tmp_path / "old.h5")
    check_file(tmp_path / "new.h5")
    assert names(tmp_path) == ["old.h5"] and (tmp_path / "old.h5").read_text() == "old"


@pytest.mark.parametrize("path, message", [
    ("absent/run.h5", "there is no directory"), ("file/run.h5", "there is no directory"),
    (".", "is a directory"), ("x" * 300, "too long"), ("pipe", "not a regular file")])
def test_paths_that_take_no_file(tmp_path, path, message):
    (tmp_path / "file").write_text("")
    os.mkfifo(tmp_path / "pipe")
    with pytest.raises(StoreError, match=message):
        check_file(tmp_path / path)
    with pytest.raises(StoreError, match=message):
        write_run(tmp_path / path, *make_run())


def test_a_directory_closed_to_writing(tmp_path, monkeypatch):
    def refuse(**settings):
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr("tempfile.TemporaryFile", refuse)
    for check in (check_file, check_directory):
        with pytest.raises(StoreError, match="Permission denied") as caught:
            check(tmp_path / "run.h5")
        assert caught.value.hint


def test_a_directory_is_checked_before_it_is_made(tmp_path):
    check_directory(tmp_path / "a" / "b")
    assert names(tmp_path) == []
    assert make_directory(tmp_path / "a" / "b").is_dir()


def test_a_directory_that_is_a_file(tmp_path):
    (tmp_path / "file").write_text("")
    for path in (tmp_path / "file", tmp_path / "file" / "figures"):
        with pytest.raises(StoreError, match="not a directory"):
            check_directory(path)
        with pytest.raises(StoreError):
            make_directory(path)
