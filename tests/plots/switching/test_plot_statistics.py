"""Closings at random: exceedance on a probability scale, 2 % values on their line, margins against the withstand."""

from types import SimpleNamespace

import numpy as np
import pytest
from figure_reading import find_line, find_overlaps, read_words
from figure_runs import SyntheticRun, make_link, make_node, make_row
from scipy.stats import norm

from plots import draw_run
from plots.switching.statistics import draw_statistics, find_shares, has_statistics, list_worst
from sim.measures.switching.closings import measure_closings
from sim.results.run import ClosingPeaks

CREST = np.sqrt(2.0 / 3.0)
MEANS = {"feeder_host": 1.85, "feeder_end": 1.9, "step_bus": 1.9, "motor_bus": 1.7, "host": 1.15, "idle_bus": 0.0}

# nominal voltage and highest voltage for equipment [V]
RATED = {"feeder_host": (33e3, 36e3), "feeder_end": (33e3, 36e3), "step_bus": (33e3, 36e3),
         "motor_bus": (6.6e3, 7.2e3), "host": (3.3e3, 3.6e3), "idle_bus": (6.6e3, 7.2e3)}


def make_closing_run(count=1000, asked=None, withstand=True, scale=1.0, seed=2, level="pass"):
    """Peaks spread normally about the mean of their node; step_bus has those of feeder_end, idle_bus none."""
    nodes = [make_node(name, *volts) if withstand else make_node(name, volts[0]) for name, volts in RATED.items()]
    random = np.random.default_rng(seed)
    peaks = np.array([mean * (1.0 + 0.07 * random.standard_normal(count)) for mean in MEANS.values()])
    peaks[2] = peaks[1]
    earth = scale * CREST * np.array([volts for volts, _ in RATED.values()]) * peaks.T
    case = SimpleNamespace(
        name="quillfen", title="Quillfen: energised by a grid", nodes=nodes, drives=[], machines=[], shunts=[],
        cables=[], transformers=[], events=[], study=SimpleNamespace(duration_s=0.3),
        grids=[SimpleNamespace(name="shore", node="host", rated_v=3.3e3, frequency_hz=50.0)],
        breakers=[make_link("feeder_breaker", "host", "feeder_host", closed=False)])
    closings = ClosingPeaks("feeder_breaker", 1, asked or count, tuple(MEANS), (), np.arange(count),
                            np.zeros(count), np.zeros((count, 3)), np.zeros((count, 0, 3)), earth, 1.6 * earth)
    statistics = measure_closings(SimpleNamespace(case=case, closings=closings))
    reason = "no level held" if level == "not assessed" else None
    rows = [make_row("statistical_peak", name, statistics["nodes"][name]["ue2_withstand_pct"], 85.0, level, reason)
            for name in MEANS]
    run = SyntheticRun(case, [], summary={
        "verdict": "not assessed", "sentence": "not assessed", "motors": {}, "criteria": rows, "data_grade": "C",
        "stepout_version": "0.1.0", "case_sha256": "3f9a" * 16, "statistics": statistics}, label="quillfen")
    run.closings = closings
    return run


@pytest.fixture(scope="module")
def run():
    return make_closing_run()


@pytest.fixture(scope="module")
def figure(run):
    return draw_statistics(run)


def test_axes_have_units(figure):
    top, bottom = figure.axes
    assert "[pu" in top.get_xlabel() and "[%]" in top.get_ylabel() and "[% of" in bottom.get_xlabel()


def test_worst_nodes_come_first_and_equal_ones_once(run):
    """feeder_end and step_bus saw the same, idle_bus nothing."""
    assert list_worst(run) == ["feeder_end", "feeder_host", "motor_bus", "host"]


def test_a_normal_distribution_is_a_straight_line(figure):
    """On the scale of normal quantiles (SciPy) mean and spread of the line are those of the peaks."""
    line = find_line(figure.axes[0], "_feeder_end")
    slope, offset = np.polyfit(line.get_xdata(), line.get_ydata(), 1)
    # of 1000 normal values: the spread is known to 2.2 %, the mean to 0.0042 pu; three times that
    assert -1.0 / slope == pytest.approx(0.07 * 1.9, rel=0.07)
    assert -offset / slope == pytest.approx(1.9, abs=0.013)
    shares = norm.cdf(line.get_ydata())
    assert shares == pytest.approx(find_shares(1000)) and (np.diff(line.get_xdata()) >= 0.0).all()


def test_two_percent_values_are_marked_on_their_line(figure, run):
    axes = figure.axes[0]
    height = norm.ppf(0.02)
    assert find_line(axes, "2 % of closings").get_ydata() == pytest.approx([height] * 2)
    points = sorted(line.get_xdata()[0] for line in axes.lines if line.get_label() == "_point")
    nodes = run.summary["statistics"]["nodes"]
    assert points == pytest.approx(sorted(nodes[name]["ue2_pu"] for name in list_worst(run)))
    for name in list_worst(run):
        interval = find_line(axes, f"_interval of {name}")
        assert interval.get_xdata() == pytest.approx([nodes[name]["ue2_low_pu"], nodes[name]["ue2_high_pu"]])
        assert f"{name}: {nodes[name]['ue2_pu']:.2f} pu, {nodes[name]['ue2_kv']:.3g} kV" in read_words(figure)


def test_margins_stand_against_limit_and_withstand(figure, run):
    bottom, nodes = figure.axes[1], run.summary["statistics"]["nodes"]
    assert find_line(bottom, "_limit 85 %").get_xdata() == pytest.approx([85.0, 85.0])
    assert find_line(bottom, "_lightning withstand").get_xdata() == pytest.approx([100.0, 100.0])
    assert [bar.get_width() for bar in bottom.patches] == pytest.approx(
        [nodes[name]["ue2_withstand_pct"] for name in list_worst(run)])
    words = read_words(figure)
    # 1.6 times the peak to earth exceeds it between phases; class 36 kV: 145 kV, see the table of withstand voltages
    assert f"feeder_end: {nodes['feeder_end']['ue2_withstand_pct']:.0f} % of 145 kV, between phases" in words
    assert "limit 85 %" in words and "lightning withstand" in words


def test_a_limit_exceeded_stays_on_the_page():
    figure = draw_statistics(make_closing_run(scale=2.6, level="fail"))
    assert figure.axes[1].get_xlim()[1] > max(bar.get_width() for bar in figure.axes[1].patches) > 100.0
    assert "against a limit of 85 %: fail" in " ".join(read_words(figure).split()) and find_overlaps(figure) == []


def test_without_withstand_voltages_only_the_distribution_is_drawn():
    figure = draw_statistics(make_closing_run(withstand=False, level="not assessed"))
    assert len(figure.axes) == 1 and "not judged: no level held" in read_words(figure)
    assert find_overlaps(figure) == []


def test_an_interrupted_series_says_so():
    assert "150 closings are still to be done" in read_words(draw_statistics(make_closing_run(50, asked=200)))


@pytest.mark.parametrize("count", [1, 2, 40, 200, 5000])
def test_no_text_overlaps(count):
    assert find_overlaps(draw_statistics(make_closing_run(count))) == []


def test_figure_belongs_to_the_standard_set(run, tmp_path, direct_run):
    assert [path.name for path in draw_run(run, tmp_path)] == ["overview.png", "statistics.png"]
    assert not has_statistics(direct_run)
