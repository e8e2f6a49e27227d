"""A run can be repeated from its file alone and gives the same numbers, bit for bit."""

import numpy as np
from factories import CASE_TEXT, NODES

from sim.case import parse_case
from sim.store.read import open_run
from sim.store.write import write_run
from sim.studies.run import repeat, run


def test_repeat_from_the_file_alone(tmp_path):
    text = CASE_TEXT.replace("at_s = 0.5", "at_s = 0.05")
    case = parse_case(text, ("study.duration_s=0.1", "umbilical.length_km=3"), "quillfen")
    result, summary = run(case, engine="waveform")
    write_run(tmp_path / "run.h5", result, summary)
    again, summary_again = repeat(tmp_path / "run.h5")
    stored = open_run(tmp_path / "run.h5")
    assert again.settings["engine"] == "waveform" and again.case.sha256 == case.sha256
    assert len(again.stretches) == len(stored.stretches) >= 1
    for name in NODES:
        t = np.concatenate([stretch.t for stretch in again.stretches])
        y = np.concatenate([stretch.signals[name]["voltage"] for stretch in again.stretches])
        np.testing.assert_array_equal((t, y), stored.signal(name, "voltage"))
    assert {**summary_again, "timing": {}} == {**stored.summary, "timing": {}}
