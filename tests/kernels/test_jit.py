"""Where compiled kernels are kept."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

from sim.kernels import jit


def folder_in(monkeypatch, path):
    monkeypatch.setenv("STEPOUT_CACHE_DIR", str(path))
    return Path(jit._cache_folder())


def test_folder_lies_where_it_is_asked_for_and_carries_the_hash_of_the_sources(tmp_path, monkeypatch):
    folder = folder_in(monkeypatch, tmp_path)
    assert folder == tmp_path / "stepout" / f"kernels-{jit._source_hash()}"
    assert folder.is_dir()


@pytest.mark.skipif(os.name != "posix", reason="a file in the place of a folder")
def test_a_place_that_cannot_be_written_is_passed_over(tmp_path, monkeypatch):
    (tmp_path / "file").write_text("no folder")
    monkeypatch.setenv("HOME", str(tmp_path / "home"))
    assert folder_in(monkeypatch, tmp_path / "file").is_relative_to(tmp_path / "home" / ".cache")


def test_hash_follows_every_source(tmp_path, monkeypatch):
    """A compiled caller is not rebuilt when a callee in another file changes: the folder must change with any file."""
    room = tmp_path / "elements"
    room.mkdir()
    (tmp_path / "jit.py").write_text("")
    (room / "one.py").write_text("x = 1")
    monkeypatch.setattr(jit, "__file__", str(tmp_path / "jit.py"))
    before = jit._source_hash()
    (room / "one.py").write_text("x = 2")
    assert jit._source_hash() != before


def test_every_kernel_can_be_run_as_plain_python():
    """What the tests of kernels rest on: with NUMBA_DISABLE_JIT set nothing is compiled."""
    code = ("from sim.kernels.elements.machine import reciprocal; from sim.kernels.elements.poles import find_zero; "
            "print(type(reciprocal).__name__, type(find_zero).__name__)")
    ran = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True,
                         env=os.environ | {"NUMBA_DISABLE_JIT": "1"})
    assert ran.stdout.split() == ["function", "function"]
