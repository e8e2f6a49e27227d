"""Compiled kernels: numbers in, numbers out.  No names, units, files or exceptions in here.

A compiled caller is not rebuilt when a callee in another file changes, so the on-disk cache folder
carries a hash of every kernel source: an edit anywhere gives a new folder and a clean build.
"""

import hashlib
import os
import tempfile
from pathlib import Path

import numba


def _source_hash():
    digest = hashlib.sha256(numba.__version__.encode())
    for path in sorted(Path(__file__).parent.glob("*.py")):
        digest.update(path.read_bytes())
    return digest.hexdigest()[:16]


def _cache_folder():
    """First writable place for compiled code: the user's cache, else the temporary folder."""
    wanted = os.environ.get("STEPOUT_CACHE_DIR") or os.environ.get("XDG_CACHE_HOME")
    roots = [Path(wanted)] if wanted else []
    roots += [Path.home() / ".cache", Path(tempfile.gettempdir())]
    for root in roots:
        folder = root / "stepout" / f"kernels-{_source_hash()}"
        try:
            folder.mkdir(parents=True, exist_ok=True)
        except OSError:
            continue
        if os.access(folder, os.W_OK):
            return str(folder)
    return ""


if not os.environ.get("NUMBA_CACHE_DIR"):
    numba.config.CACHE_DIR = _cache_folder()
