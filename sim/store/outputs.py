"""Where results go: checked before the work starts, written beside and then renamed."""

import os
import stat
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from uuid import uuid4

from sim.errors import StoreError


def check_file(path: str | Path) -> None:
    """Make sure that a file can be written, without touching it.

    Raises
    ------
    StoreError
        When its directory is missing or closed to writing, or the path is not that of a regular file.
    """
    target = resolve(path)
    try:
        kind = target.stat().st_mode if target.exists() else None
    except OSError as error:
        raise tell_os_error(path, error) from None
    if kind is not None and not stat.S_ISREG(kind):
        what = "a directory" if stat.S_ISDIR(kind) else "not a regular file"
        raise StoreError(f"{path}: is {what}", "Give the path of a file.")
    check_parent(path, target.parent)


def check_parent(path: str | Path, parent: Path) -> None:
    """Make sure that a directory is there and takes files."""
    if not parent.is_dir():
        raise StoreError(f"{path}: there is no directory {parent}", "Create it or give another path.")
    try:
        with tempfile.TemporaryFile(dir=parent):
            return
    except OSError as error:
        raise tell_os_error(path, error) from None


def check_directory(path: str | Path) -> None:
    """Make sure that a directory takes files or can be made, without making it.

    Raises
    ------
    StoreError
    """
    target = resolve(path)
    try:
        while not target.exists():
            target = target.parent
    except OSError as error:
        raise tell_os_error(path, error) from None
    if not target.is_dir():
        raise StoreError(f"{path}: {target} is not a directory", "Give the path of a directory.")
    check_parent(path, target)


def make_directory(path: str | Path) -> Path:
    """Make a directory and those above it.

    Raises
    ------
    StoreError
    """
    try:
        Path(path).mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise tell_os_error(path, error) from None
    return Path(path)


@contextmanager
def replace_file(path: str | Path) -> Iterator[Path]:
    """Path of a file beside the target, which takes the target's place once the block is through.

    Whatever goes wrong within the block, the target stays as it was and nothing is left beside it.

    Raises
    ------
    StoreError
        When the file cannot be written or renamed.
    """
    target = resolve(path)
    beside = target.with_name(f".stepout-{uuid4().hex[:12]}.part")
    try:
        yield beside
        flush(beside)
        os.replace(beside, target)
    except (OSError, RuntimeError) as error:
        raise tell_os_error(path, error) from None
    finally:
        beside.unlink(missing_ok=True)


def write_text(path: str | Path, text: str) -> None:
    """Write a UTF-8 text file in one go.

    Raises
    ------
    StoreError
    """
    check_file(path)
    with replace_file(path) as beside:
        beside.write_text(text, encoding="utf-8")


def flush(path: Path) -> None:
    """Wait until a file is on the disk."""
    with open(path, "rb") as file:
        os.fsync(file.fileno())


def resolve(path: str | Path) -> Path:
    """The file that a path leads to; a link is followed, so that it is not replaced itself."""
    return Path(os.path.realpath(path))


def tell_os_error(path: str | Path, error: Exception) -> StoreError:
    """A refusal of the operating system or of the HDF5 library as a `StoreError`."""
    number = getattr(error, "errno", None)
    reason = os.strerror(number) if number else str(error)
    return StoreError(f"{path}: cannot be written ({reason})",
                      "Check the path, its permissions and the free space.")
