"""The envelope engine's equations as a plain ODE for SciPy: same network, same frame, no shared stepping code.

State y: real and imaginary parts of x (columns of `sim.network.tables`), then the shaft speeds.  The
frame turns with the drive's prescribed frequency, so this stands for a start whose current limit does
not act.
"""

import numpy as np
import scipy.sparse as sp

from sim.kernels.columns import (
    DRIVE_BOOST,
    DRIVE_BOOST_END,
    DRIVE_HOLD,
    DRIVE_HZ,
    DRIVE_RAMP,
    DRIVE_RISE,
    DRIVE_START_HZ,
    DRIVE_VOLTS,
)
from sim.kernels.elements.machine import load_of


class SpaceVectorOde:
    """dy/dt and its sparse Jacobian for one drive and any number of machines."""

    def __init__(self, network, closed):
        self.network, self.tables = network, network.tables
        self.n = len(self.tables.islands.column)
        self.machines = len(network.machine_names)
        self.linear = self._linear(closed)
        self.source = np.zeros(self.n)
        link = self.tables.sources.link[0]
        row = len(network.node_names) + link
        self.source[row] = 1.0 / self.tables.links.l[0, link]
        self.at = self.n - 3 * self.machines
        self.law = self.tables.drives.data[0]

    def _linear(self, closed):
        t = self.tables
        nodes, links = t.nodes.c.shape[1], len(t.links.start)
        a = sp.lil_matrix((self.n, self.n), dtype=complex)
        c = t.nodes.c[0]
        for k in range(nodes):
            a[k, k] -= t.nodes.g[0, k] / c[k]
        for q in np.flatnonzero(closed):
            f, e, g = t.switches.start[q], t.switches.end[q], t.switches.g[q]
            for p, r in ((f, e), (e, f)):
                a[p, p] -= g / c[p]
                a[p, r] += g / c[p]
        for b in range(links):
            i, u, l = nodes + b, nodes + links + b, t.links.l[0, b]
            a[i, i] -= t.links.r[0, b] / l
            a[i, u] -= 1.0 / l
            a[u, i] += t.links.s[0, b]
            for node, w in ((t.links.start[b], t.links.wf[b]), (t.links.end[b], t.links.wt[b])):
                if node >= 0:
                    a[i, node] += w / l
                    a[node, i] -= np.conj(w) / c[node]
        at, modes = nodes + 2 * links, t.cables.w.shape[1]
        for k in range(len(t.cables.start)):
            for m in range(t.cables.first[k], t.cables.first[k + 1]):
                p, q = at + m, at + modes + m
                a[p, p] -= t.cables.a[0, m]
                a[p, q] -= t.cables.w[0, m]
                a[q, p] += t.cables.w[0, m]
                a[q, q] -= t.cables.b[0, m]
                for node, g in ((t.cables.start[k], t.cables.gf[0, m]), (t.cables.end[k], t.cables.gt[0, m])):
                    a[p, node] -= g
                    a[node, p] += g / c[node]
        for m in range(self.machines):
            base, node = self.n - 3 * self.machines + 3 * m, t.machines.node[m]
            for row in range(3):
                for col in range(3):
                    a[base + row, base + col] -= t.machines.r[m, row] * t.machines.gamma[m, row, col]
            a[base, node] += 1.0
            for col in range(3):
                a[node, base + col] -= t.machines.gamma[m, 0, col] / c[node]
        return a.tocsr()

    def frequency(self, t):
        """Output frequency [Hz] of the undisturbed ramp."""
        law, target = self.law, self.network.target_hz[0]
        return min(target, law[DRIVE_START_HZ] + law[DRIVE_RAMP] * max(0.0, t - law[DRIVE_HOLD]))

    def emf(self, t):
        hz, law = self.frequency(t), self.law
        share = hz / law[DRIVE_HZ] + law[DRIVE_BOOST] * max(0.0, 1.0 - hz / law[DRIVE_BOOST_END])
        return law[DRIVE_VOLTS] * share * min(1.0, t / law[DRIVE_RISE])

    def torque(self, x, m):
        base = self.at + 3 * m
        current = self.tables.machines.gamma[m, 0] @ x[base:base + 3]
        return self.tables.machines.pairs[m] * np.imag(np.conj(x[base]) * current)

    def __call__(self, t, y):
        x, speed = y[:self.n] + 1j * y[self.n:2 * self.n], y[2 * self.n:]
        dx = self.linear @ x - 2j * np.pi * self.frequency(t) * x + self.source * self.emf(t)
        machines = self.tables.machines
        rate = np.zeros(self.machines)
        for m in range(self.machines):
            base = self.at + 3 * m
            dx[base + 1:base + 3] += 1j * machines.pairs[m] * speed[m] * x[base + 1:base + 3]
            load = load_of.py_func(machines, m, self.network.load_factor[m], speed[m])
            rate[m] = (self.torque(x, m) - load) / machines.j[m]
        return np.concatenate([dx.real, dx.imag, rate])

    def jacobian(self, t, y):
        """Exact but for the load curve's slope, which is a central difference."""
        x, speed = y[:self.n] + 1j * y[self.n:2 * self.n], y[2 * self.n:]
        machines, n = self.tables.machines, self.n
        turn = np.full(n, -2.0 * np.pi * self.frequency(t))
        for m in range(self.machines):
            turn[self.at + 3 * m + 1:self.at + 3 * m + 3] += machines.pairs[m] * speed[m]
        a = self.linear + sp.diags(1j * turn)
        jac = sp.bmat([[a.real, -a.imag, None], [a.imag, a.real, None],
                       [None, None, sp.csr_matrix((self.machines, self.machines))]], format="lil")
        for m in range(self.machines):
            base, gamma, pairs, j = self.at + 3 * m, machines.gamma[m, 0], machines.pairs[m], machines.j[m]
            for k in (1, 2):
                spin = 1j * pairs * x[base + k]
                jac[base + k, 2 * n + m], jac[n + base + k, 2 * n + m] = spin.real, spin.imag
            current = gamma @ x[base:base + 3]
            d_re, d_im = x[base].real * gamma, x[base].imag * gamma
            row_re, row_im = -d_im, d_re.copy()
            row_re[0] += current.imag
            row_im[0] -= current.real
            for k in range(3):
                jac[2 * n + m, base + k] = pairs / j * row_re[k]
                jac[2 * n + m, n + base + k] = pairs / j * row_im[k]
            ends = [load_of.py_func(machines, m, self.network.load_factor[m], speed[m] + s) for s in (-1e-3, 1e-3)]
            jac[2 * n + m, 2 * n + m] = -(ends[1] - ends[0]) / 2e-3 / j
        return jac.tocsc()
