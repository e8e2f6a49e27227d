"""How kernels are compiled.

`entry` is for what Python may call.  `inner` is for kernels that take the wide groups of arrays and are
called by other kernels only: it leaves out the Python-side wrapper, which for arguments this wide is most
of the compile time.  Calling an inner kernel from Python crashes the interpreter, so its tests run with
NUMBA_DISABLE_JIT=1 or go through the stepping kernels.  `inlined` is `inner` for the small kernels of the
waveform loop (measured: 4.8 to 3.3 us a step).

Division by zero yields inf (error_model "numpy") instead of a branch that raises; the stepping kernels
end each step with a test that the numbers are finite.  SUMS lets sums be reordered for vector units; it
does not let the compiler assume that there are no NaNs.
"""

from functools import partial

from numba import njit

SUMS = {"reassoc", "contract", "nsz"}

entry = partial(njit, cache=True, error_model="numpy")()
inner = partial(njit, cache=True, error_model="numpy", no_cpython_wrapper=True, no_cfunc_wrapper=True, _nrt=False)()
inlined = partial(njit, cache=True, error_model="numpy", no_cpython_wrapper=True, no_cfunc_wrapper=True, _nrt=False,
                  forceinline=True)()
inner_sums = partial(njit, cache=True, error_model="numpy", no_cpython_wrapper=True, no_cfunc_wrapper=True, _nrt=False,
                     fastmath=SUMS)()
