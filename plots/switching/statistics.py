"""Closings at random: how often which voltage is exceeded at the worst nodes, and what that is of their insulation."""

from math import sqrt
from statistics import NormalDist

import numpy as np
from matplotlib.ticker import FixedFormatter, FixedLocator, NullLocator

from plots.curves.series import find_criterion
from plots.curves.traces import draw_limit
from plots.page.assembly import finish, identify, title_of
from plots.page.labels import place_note
from plots.page.page import add_axes, name_axes, new_figure, palette, write
from sim.measures.switching.closings import EXCEEDED
from sim.measures.voltages.overvoltage import PHASE_EARTH_CREST

HEIGHT, ROW = 3.7, 0.36
MOST_NODES = 4
GAP = 0.62
SAME = 1e-3             # nodes whose peaks differ by less than this in every closing are shown once
TICKS = (99.0, 90.0, 70.0, 50.0, 30.0, 10.0, 5.0, 2.0, 1.0, 0.5, 0.1, 0.01, 0.001)
QUANTILE = np.vectorize(NormalDist().inv_cdf, otypes=[float])
LIMIT_KEY = "statistical_peak"


def has_statistics(run):
    """Whether a run holds closings at random that reached any node."""
    return bool(list_worst(run))


def draw_statistics(run):
    """Figure of the closings at random of a run.

    Parameters
    ----------
    run : StoredRun
        With `closings` and the summary's `statistics`.

    Returns
    -------
    figure : Figure
        The share of closings that exceed a voltage, on a normal probability scale (a normal distribution is a
        straight line), of the worst nodes; below, their 2 % values against their withstand voltages.
    """
    statistics, worst = run.summary["statistics"], list_worst(run)
    figure = new_figure()
    panels = [add_axes(figure)]
    draw_exceedance(panels[0], run, worst)
    heights = [HEIGHT]
    judged = [name for name in worst if statistics["nodes"][name]["ue2_withstand_pct"] is not None]
    if judged:
        panels.append(add_axes(figure))
        draw_margins(panels[1], run, judged)
        heights.append(ROW * (len(judged) + 0.8))
    title = f"{title_of(run)} · {statistics['shots']} closings of {statistics['breaker']} at random"
    finish(figure, panels, heights, [], title, describe(run, worst),
           ("points: voltage that 2 % of closings exceed; bold: its 90 % interval", identify(run)), gap=GAP, flagged=1)
    note_levels(panels[0], statistics, worst)
    return figure


def list_worst(run):
    """Names of the nodes to show, the one nearest its withstand first; of nodes with the same peaks only one."""
    peaks, nodes = getattr(run, "closings", None), (run.summary.get("statistics") or {}).get("nodes") or {}
    if peaks is None:
        return []
    ranked = sorted((name for name in nodes if nodes[name]["max_pu"] > 0.0), key=lambda name: rank(nodes[name]))
    shown = []
    for name in ranked:
        if not any(is_same(peaks, name, other) for other in shown):
            shown.append(name)
    return shown[:MOST_NODES]


def rank(values):
    """Sort key: nodes with a withstand first, by what is left of it."""
    share = values["ue2_withstand_pct"]
    return (share is None, -(values["ue2_pu"] if share is None else share))


def is_same(peaks, name, other):
    """Whether two nodes saw the same voltages."""
    mine, theirs = (peaks.phase_earth[:, peaks.nodes.index(node)] for node in (name, other))
    return bool(np.allclose(mine, theirs, rtol=SAME, atol=0.0))


def draw_exceedance(axes, run, worst):
    """Share of closings above a voltage, a line for each node."""
    peaks, nodes = run.closings, run.summary["statistics"]["nodes"]
    base = {node.name: PHASE_EARTH_CREST * node.nominal_v for node in run.case.nodes}
    for name, colour, dash in zip(worst, palette.LINES, palette.DASHES):
        values = np.sort(peaks.phase_earth[:, peaks.nodes.index(name)]) / base[name]
        axes.plot(values, QUANTILE(find_shares(len(values))), color=colour, linestyle=dash,
                  linewidth=palette.BOLD_LINE, label=f"_{name}", zorder=3)
        low, high = nodes[name]["ue2_low_pu"], nodes[name]["ue2_high_pu"]
        if low is not None:
            end = values[-1] if high is None else high
            axes.plot([low, end], [QUANTILE(EXCEEDED)] * 2, color=colour, linewidth=4.0, alpha=0.55,
                      solid_capstyle="butt", label=f"_interval of {name}", zorder=2.8)
    axes.plot([0.0, 1.0], [QUANTILE(EXCEEDED)] * 2, color=palette.QUIET, linewidth=palette.FINE_LINE,
              transform=axes.get_yaxis_transform(), label="2 % of closings", zorder=2, scalex=False, scaley=False)
    scale_shares(axes, len(peaks.numbers))
    low, high = axes.dataLim.intervalx
    axes.set_xlim(low - 0.04 * (high - low) - 1e-3, high + 0.12 * (high - low) + 1e-3)
    name_axes(axes, x="Largest voltage to earth [pu of the crest of nominal phase voltage]",
              y="Closings that exceed it [%]")


def find_shares(count):
    """Share of all closings that exceed each of so many in ascending order (median rank), shape (count,)."""
    return 1.0 - (np.arange(1, count + 1) - 1.0 / 3.0) / (count + 1.0 / 3.0)


def scale_shares(axes, count):
    """A probability scale that holds every closing and the 2 % line."""
    shares = find_shares(count)
    low = min(shares[-1], 0.6 * EXCEEDED)
    axes.set_ylim(QUANTILE(0.7 * low), QUANTILE(max(1.0 - 0.7 * (1.0 - shares[0]), 0.6)))
    axes.yaxis.set_major_locator(FixedLocator(QUANTILE(np.array(TICKS) / 100.0)))
    axes.yaxis.set_major_formatter(FixedFormatter([f"{tick:g}" for tick in TICKS]))
    axes.yaxis.set_minor_locator(NullLocator())


def note_levels(axes, statistics, worst):
    """The 2 % value of each node beside its line."""
    notes = []
    for name, colour in zip(worst, palette.LINES):
        values = statistics["nodes"][name]
        text = f"{name}: {values['ue2_pu']:.2f} pu, {values['ue2_kv']:.3g} kV"
        notes.append(place_note(axes, (values["ue2_pu"], float(QUANTILE(EXCEEDED))), text, colour, notes))
    return notes


def draw_margins(axes, run, names):
    """The 2 % values in per cent of the withstand voltages, bars from the worst down; limit and withstand as lines."""
    nodes, limit = run.summary["statistics"]["nodes"], find_limit(run)
    for row, (name, colour) in enumerate(zip(names, palette.LINES)):
        values = nodes[name]
        axes.barh(-row - 0.2, values["ue2_withstand_pct"], 0.28, color=colour, zorder=3, label=f"_{name}")
        share = f"{values['ue2_withstand_pct']:.0f} % of {find_withstand_kv(run, name)} kV"
        write(axes, 0.6, -row + 0.17, f"{name}: {share}{tell_kind(run, name)}", color=colour, va="center", zorder=6,
              bbox={"facecolor": "white", "edgecolor": "none", "pad": 0.6})
    top = 0.9
    highest = max(nodes[name]["ue2_withstand_pct"] for name in names)
    axes.set_xlim(0.0, max(118.0, 1.04 * highest))
    axes.set_ylim(-len(names) + 0.45, top)
    axes.set_yticks([])
    axes.grid(False, axis="y")
    for value, text, side in ((limit, f"limit {limit:g} %", "right"), (100.0, "lightning withstand", "left")):
        draw_limit_line(axes, value, text, side, top)
    name_axes(axes, x="2 % value, the worse of phase to earth and between phases [% of lightning impulse withstand]",
              y="Insulation")


def draw_limit_line(axes, value, text, side, top):
    """An upright limit with its name at the top."""
    line, = draw_limit(axes, 0.0, f"_{text}")
    line.set_transform(axes.get_xaxis_transform())
    line.set_data([value, value], [0.0, 1.0])
    shift = -0.6 if side == "right" else 0.6
    return write(axes, value + shift, top - 0.22, text, color=palette.LIMIT, ha=side, va="center")


def find_limit(run):
    """The criterion's limit. [% of withstand]"""
    rows = [row for row in run.summary.get("criteria") or [] if row["id"] == LIMIT_KEY and row["limit"] is not None]
    return rows[0]["limit"] if rows else 85.0


def find_withstand_kv(run, name):
    """Withstand voltage of a node in words. [kV]"""
    node = next(node for node in run.case.nodes if node.name == name)
    base = PHASE_EARTH_CREST * node.nominal_v / 1e3
    return f"{run.summary['statistics']['nodes'][name]['withstand_pu'] * base:.3g}"


def tell_kind(run, name):
    """Says so where the voltage between phases is the worse one."""
    values = run.summary["statistics"]["nodes"][name]
    return ", between phases" if sqrt(3.0) * values["up2_pu"] > values["ue2_pu"] else ""


def describe(run, worst):
    """The worst 2 % value against its limit, in a sentence."""
    statistics, name = run.summary["statistics"], worst[0]
    values, row = statistics["nodes"][name], find_criterion(run, LIMIT_KEY, name)
    words = [f"2 % of closings exceed {values['ue2_pu']:.2f} pu ({values['ue2_kv']:.3g} kV) to earth at {name}; "
             f"the largest was {values['max_pu']:.2f} pu, in closing {values['worst']['number']}"]
    if row is not None and row["level"] != "not assessed":
        words.append(f"{row['value']:.0f} % of withstand against a limit of {row['limit']:g} %: {row['level']}")
    elif row is not None:
        words.append(f"not judged: {row['reason']}")
    if statistics["shots"] < statistics["asked"]:
        words.append(f"{statistics['asked'] - statistics['shots']} closings are still to be done")
    return "; ".join(words)
