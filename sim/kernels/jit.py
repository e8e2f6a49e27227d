"""How kernels are compiled.

`entry` is for the few functions that Python calls; `inner` is for those that only other kernels call: it
leaves out the Python-side wrapper, which for arguments this wide is most of the compile time.  Tests of
an inner kernel use its ``py_func``.

Division by zero yields inf (error_model "numpy") instead of a branch that raises; the stepping kernels
end each step with a test that the numbers are finite.  SUMS lets sums be reordered for vector units; it
does not let the compiler assume that there are no NaNs.
"""

from functools import partial

from numba import njit

SUMS = {"reassoc", "contract", "nsz"}

entry = partial(njit, cache=True, error_model="numpy")()
inner = partial(njit, cache=True, error_model="numpy", no_cpython_wrapper=True, no_cfunc_wrapper=True)()
inlined = partial(njit, cache=True, error_model="numpy", no_cpython_wrapper=True, no_cfunc_wrapper=True,
                  forceinline=True)()
inner_sums = partial(njit, cache=True, error_model="numpy", no_cpython_wrapper=True, no_cfunc_wrapper=True,
                     fastmath=SUMS)()
