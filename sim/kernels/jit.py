"""How kernels are compiled.

`entry` is for what Python may call.  `inner` is for kernels that take the wide groups of arrays and are
called by other kernels only: it leaves out the Python-side wrapper, which for arguments this wide is most
of the compile time.  Calling an inner kernel from Python crashes the interpreter, so its tests run with
NUMBA_DISABLE_JIT=1 or go through the stepping kernels.  `inlined` is `inner` for the small kernels of the
waveform loop (measured: 4.8 to 3.3 us a step).

Division by zero yields inf (error_model "numpy") instead of a branch that raises; the stepping kernels
end each step with a test that the numbers are finite.  FUSED lets a product and a sum be one operation; it neither lets
the compiler assume that there are no NaNs nor lets it reorder sums: a loop whose order depended on where its arrays lay
in memory made one run in some hundred differ from the next in the last digit.

A compiled caller is not rebuilt when a callee in another file changes, so the on-disk cache folder
carries a hash of every kernel source: an edit anywhere gives a new folder and a clean build.
"""

import hashlib
import os
import tempfile
from functools import partial
from pathlib import Path

import numba
from numba import njit


def _source_hash():
    digest = hashlib.sha256(numba.__version__.encode())
    for path in sorted(Path(__file__).parent.rglob("*.py")):
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

FUSED = {"contract", "nsz"}

entry = partial(njit, cache=True, error_model="numpy")()
inner = partial(njit, cache=True, error_model="numpy", no_cpython_wrapper=True, no_cfunc_wrapper=True, _nrt=False)()
inlined = partial(njit, cache=True, error_model="numpy", no_cpython_wrapper=True, no_cfunc_wrapper=True, _nrt=False,
                  forceinline=True)()
inner_fused = partial(njit, cache=True, error_model="numpy", no_cpython_wrapper=True, no_cfunc_wrapper=True, _nrt=False,
                     fastmath=FUSED)()
