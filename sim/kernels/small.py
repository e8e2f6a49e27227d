"""Small dense systems."""

from sim.kernels.jit import entry


@entry
def solve_small(a, b, size):
    """Gaussian elimination with row pivoting; a is destroyed, b becomes the solution."""
    for k in range(size):
        best = k
        for r in range(k + 1, size):
            if abs(a[r, k]) > abs(a[best, k]):
                best = r
        if best != k:
            for c in range(k, size):
                a[k, c], a[best, c] = a[best, c], a[k, c]
            b[k], b[best] = b[best], b[k]
        for r in range(k + 1, size):
            f = a[r, k] / a[k, k]
            for c in range(k + 1, size):
                a[r, c] -= f * a[k, c]
            b[r] -= f * b[k]
    for k in range(size - 1, -1, -1):
        for c in range(k + 1, size):
            b[k] -= a[k, c] * b[c]
        b[k] /= a[k, k]


@entry
def invert(a, out):
    """Gauss-Jordan inverse with row pivoting; a is destroyed."""
    n = a.shape[0]
    for r in range(n):
        for c in range(n):
            out[r, c] = 1.0 if r == c else 0.0
    for k in range(n):
        best = k
        for r in range(k + 1, n):
            if abs(a[r, k].real) + abs(a[r, k].imag) > abs(a[best, k].real) + abs(a[best, k].imag):
                best = r
        if best != k:
            for c in range(n):
                a[k, c], a[best, c] = a[best, c], a[k, c]
                out[k, c], out[best, c] = out[best, c], out[k, c]
        f = 1.0 / a[k, k]
        for c in range(n):
            a[k, c] *= f
            out[k, c] *= f
        for r in range(n):
            g = a[r, k]
            if r != k and g != 0.0:
                for c in range(n):
                    a[r, c] -= g * a[k, c]
                    out[r, c] -= g * out[k, c]
