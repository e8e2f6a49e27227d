"""Run files: one run, one HDF5 file, readable without this package and enough to repeat the run.

Layout, format version 2::

    /                    attributes: format, format_version, stepout_version, case_name, case_sha256,
                         created_utc, verdict, complete, failure, libraries (JSON), settings (JSON)
    /case/given          text of the case file
    /case/overrides      the KEY=VALUE pairs that were applied to it
    /case/used           JSON: every value in force with unit, SI value, origin and grade
    /summary             JSON: what `stepout run --json` prints
    /record              JSON: events, peaks, machines, energy, steps, hand-overs, warnings, timing
    /time/all            time of every sample, stretch after stretch [s]
    /time/waveform       the same of the waveform stretches alone [s]
    /time/part_000 ...   axes of signals that only some other stretches have [s]
    /time/stretches      table: engine, start, stop; rows start to stop - 1 of /time/all are one stretch
    /signals/<component or node>/<quantity>
    /shots               closings at random, where they were asked for: see `sim.store.closings`

Every signal is a one-dimensional float64 dataset with the attributes `unit`, `base` (what one per unit is,
NaN where nothing is rated) and `long_name`; its time axis is attached as an HDF5 dimension scale.  An axis
names the stretches it covers in its attribute `stretches`.
"""
