"""A file that is no run, or no longer one, is told so in a sentence; nothing else is ever raised."""

import h5py
import numpy as np
import pytest
from factories import make_run

from sim.errors import StoreError
from sim.store.read import is_complete_run, is_foreign, open_run
from sim.store.write import write_run


@pytest.fixture
def path(tmp_path):
    write_run(tmp_path / "run.h5", *make_run())
    return tmp_path / "run.h5"


def read_all(path):
    run = open_run(path)
    return [run.signal(name, quantity) for stretch in run.stretches
            for name, quantities in stretch.signals.items() for quantity in quantities]


def test_missing_file(tmp_path):
    with pytest.raises(StoreError, match="No such file"):
        open_run(tmp_path / "absent.h5")


def test_directory(tmp_path):
    with pytest.raises(StoreError, match="directory"):
        open_run(tmp_path)


@pytest.mark.parametrize("content, message", [
    (b"", "is empty"), (b"[study]\nduration_s = 1\n", "not an HDF5 file"),
    (b"\x89HDF\r\n\x1a\n", "truncated or damaged"),
    (b"\x89HDF\r\n\x1a\n" + bytes(500), "truncated or damaged")])
def test_other_content(tmp_path, content, message):
    (tmp_path / "run.h5").write_bytes(content)
    with pytest.raises(StoreError, match=message):
        open_run(tmp_path / "run.h5")


def test_no_permission(path, monkeypatch):
    def refuse(*arguments, **settings):
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr("builtins.open", refuse)
    with pytest.raises(StoreError, match="Permission denied"):
        open_run(path)


def test_another_kind_of_hdf5_file(tmp_path):
    with h5py.File(tmp_path / "other.h5", "w") as file:
        file["x"] = np.arange(3)
    with pytest.raises(StoreError, match="not a stepout run"):
        open_run(tmp_path / "other.h5")
    assert is_foreign(tmp_path / "other.h5")


def test_newer_format_names_the_version_that_reads_it(path):
    with h5py.File(path, "a") as file:
        file.attrs.update({"format_version": 3, "stepout_version": "9.9"})
    with pytest.raises(StoreError, match="format 3, this version reads up to 2") as caught:
        open_run(path)
    assert "stepout 9.9" in caught.value.hint


@pytest.mark.parametrize("name", ["case/given", "case/used", "case/overrides", "summary", "record",
                                  "time/all", "time/stretches"])
def test_missing_part(path, name):
    with h5py.File(path, "a") as file:
        del file[name]
    with pytest.raises(StoreError, match="truncated or damaged"):
        open_run(path)


def test_text_that_is_no_json(path):
    with h5py.File(path, "a") as file:
        del file["record"]
        file["record"] = "{"
    with pytest.raises(StoreError, match="truncated or damaged"):
        open_run(path)


def test_truncation_anywhere_is_noticed(path, tmp_path):
    """HDF5 keeps the length of the file in its head, so that no cut goes unseen."""
    whole = path.read_bytes()
    for share in np.linspace(0.0, 1.0, 60, endpoint=False):
        path.write_bytes(whole[:int(share * len(whole))])
        with pytest.raises(StoreError):
            open_run(path)
    path.write_bytes(whole[:-1])
    with pytest.raises(StoreError, match="truncated or damaged"):
        open_run(path)


def test_damaged_samples_are_noticed(path):
    """A compressed block carries a checksum (zlib, RFC 1950)."""
    with h5py.File(path) as file:
        block = file["time/all"].id.get_chunk_info(0)
    content = bytearray(path.read_bytes())
    middle = block.byte_offset + block.size // 2
    content[middle:middle + 8] = bytes(8)
    path.write_bytes(content)
    with pytest.raises(StoreError, match="truncated or damaged"):
        read_all(path)


def test_what_may_be_replaced(path, tmp_path):
    assert is_complete_run(path) and not is_foreign(path)
    write_run(tmp_path / "part.h5", *make_run(failure="stopped"))
    assert not is_complete_run(tmp_path / "part.h5") and not is_foreign(tmp_path / "part.h5")
    assert not is_foreign(tmp_path / "absent.h5")
    (tmp_path / "empty.h5").touch()
    assert not is_foreign(tmp_path / "empty.h5")
    (tmp_path / "case.toml").write_text("[study]\n")
    assert is_foreign(tmp_path / "case.toml")
    path.write_bytes(path.read_bytes()[:3000])
    assert not is_complete_run(path) and not is_foreign(path)
