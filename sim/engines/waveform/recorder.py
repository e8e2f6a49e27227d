"""Growing store of waveform samples."""

import numpy as np

from sim.kernels.columns import DRIVE_SAMPLES, SHAFT_SAMPLES
from sim.kernels.waveform.sampling import Samples

CHUNK = 2048                # rows of a block


class Recorder:
    """Growing store of samples; the kernel writes straight into its present block."""

    def __init__(self, network, block=CHUNK):
        self.size, self.block, self.blocks = block, self._make_block(network, block + 1), []

    @staticmethod
    def _make_block(network, m):
        t = network.tables
        n, b, k = t.nodes.c.shape[1], len(t.links.start), len(t.cables.start)
        q, a, d = len(t.switches.start), len(t.machines.node), len(t.drives.link)
        return Samples(np.zeros(m), np.zeros((m, 3, n)), np.zeros((m, 3, b)), np.zeros((m, 2, 3, k)),
                       np.zeros((m, q, 3)), np.zeros((m, len(t.ports.node))), np.zeros((m, a), dtype=complex),
                       np.zeros((m, a, SHAFT_SAMPLES)), np.zeros((m, d, DRIVE_SAMPLES)))

    def keep(self, count):
        """Keep the first rows of the block the kernel wrote into."""
        if count:
            self.blocks.append(Samples(*(part[:count].copy() for part in self.block)))

    def latest(self, span):
        """Samples of the last `span` seconds."""
        blocks, first = [], self.blocks[-1].t[-1] - span
        for block in reversed(self.blocks):
            blocks.insert(0, block)
            if block.t[0] <= first:
                break
        parts = [np.concatenate(part) for part in zip(*blocks)]
        late = parts[0] >= first
        return Samples(*(part[late] for part in parts))

    def joined(self):
        """All samples so far as one Samples, or None."""
        if not self.blocks:
            return None
        return Samples(*(np.concatenate(parts) for parts in zip(*self.blocks)))
