"""The verdict table: what a run found, in plain text for a terminal of 100 columns."""

from typing import Any

from sim.report.criteria import list_judged, list_unjudged
from sim.report.tables import NONE, align, fill, list_points, write_number
from sim.report.verified import list_verified

BRIEF = 110         # a longer caution is cut to its first sentence [characters]

# heading, unit, key in the summary, format
MACHINES = (("to speed", "s", "time_to_speed_s", ".3g"), ("speed", "rpm", "final_speed_rpm", ".0f"),
            ("", "%", "final_speed_pct", ".1f"), ("lowest U", "pu", "min_voltage_pu", ".3f"),
            ("highest I", "pu", "peak_current_pu", ".2f"), ("highest T", "% rated", "peak_torque_pct", ".0f"),
            ("breakaway", "% need", "breakaway_torque_available_pct", ".0f"),
            ("spare T", "% rated", "min_accelerating_torque_pct", ".1f"))
MACHINES_HEADING = "Machines: time to 95 % of rated speed, speed in % of it (at the frequency the source is sent to)"
NODES = (("base", "kV", "base_kv", ".4g"), ("before", "pu", "initial_urms_pu", ".3f"),
         ("lowest", "pu", "min_urms_pu", ".3f"), ("sag", "%", "sag_depth_pct", ".1f"),
         ("lasting", "s", "sag_duration_s", ".3g"), ("highest", "pu", "max_urms_pu", ".3f"),
         ("to earth", "pu", "peak_phase_earth_pu", ".2f"), ("", "kV", "peak_phase_earth_kv", ".3g"),
         ("between", "pu", "peak_phase_phase_pu", ".2f"), ("at", "s", "peak_time_s", ".3f"))
LEAST = ("peak_phase_earth_pu", "peak_phase_earth_kv", "peak_phase_phase_pu")      # known from below, where marked
TRANSFORMERS = (("peak flux", "pu", "peak_flux_pu", ".2f"),)
CABLES = (("highest I", "A", "max_current_a", ".1f"),)
BREAKERS = (("recovery", "kV", "recovery_peak_kv", ".3g"), ("", "pu", "recovery_peak_pu", ".2f"),
            ("rise", "kV/us", "recovery_rate_kv_per_us", ".2g"),
            ("no zero for", "cycles", "missing_zero_cycles", ".2f"), ("re-ignitions", "", "reignitions", "d"),
            ("chopped", "A", "chopped_a", ".1f"))
ARRESTERS = (("energy", "kJ", "energy_kj", ".3g"), ("", "% of rating", "energy_pct", ".1f"),
             ("highest I", "A", "peak_current_a", ".3g"), ("highest U", "kV", "peak_voltage_kv", ".3g"))
STATISTICS = (("mean", "pu", "mean_pu", ".2f"), ("spread", "pu", "std_pu", ".3f"), ("2 % value", "pu", "ue2_pu", ".2f"),
              ("", "kV", "ue2_kv", ".3g"), ("at least", "pu", "ue2_low_pu", ".2f"),
              ("at most", "pu", "ue2_high_pu", ".2f"), ("largest", "pu", "max_pu", ".2f"),
              ("between", "pu", "up2_pu", ".2f"), ("of withstand", "%", "ue2_withstand_pct", ".0f"))
OPENINGS = (("median", "pu", "median_pu", ".2f"), ("95 % value", "pu", "p95_pu", ".2f"), ("", "kV", "p95_kv", ".3g"),
            ("largest", "pu", "max_pu", ".2f"), ("between", "pu", "up95_pu", ".2f"),
            ("of withstand", "%", "p95_withstand_pct", ".0f"))
FAULTS = (("highest I", "A", "peak_current_a", ".4g"), ("last cycle", "A RMS", "rms_current_a", ".4g"))


def write_report(title: str, summary: dict[str, Any]) -> str:
    """The verdict table of a run.

    Parameters
    ----------
    title : str
        Title of the case.
    summary : dict
        As made by ``sim.measures.summarise``.

    Returns
    -------
    text : str
        The last line is the verdict in one sentence.

    Checked by
    ----------
    tests/cli/test_report.py
    """
    quality, judged = summary["quality"], summary["criteria"]
    cautions = [shorten(text) for text in summary["cautions"]]
    blocks = [
        write_head(title, summary), write_machines(summary["motors"]),
        write_nodes(summary["nodes"]),
        write_things("Transformers", TRANSFORMERS, summary["transformers"]),
        write_things("Cables", CABLES, summary["cables"]), *write_switching(summary),
        *write_openings(summary.get("openings") or {}), write_statistics(summary.get("statistics")),
        list_judged(judged),
        list_points("Not assessed", list_unjudged(judged)), list_verified(summary.get("verify_step")),
        write_quality(quality, summary["timing"]),
        list_points("Warnings", quality["warnings"]),
        list_points("Cautions, in full with --json and in the run file", cautions),
        [" ".join(summary["sentence"].split())]]
    return "\n\n".join("\n".join(block) for block in blocks if block)


def write_head(title: str, summary: dict[str, Any]) -> list[str]:
    """What was run."""
    version = summary["stepout_version"] or "of unknown version"
    return [" ".join(title.split()),
            f"case {summary['case']} ({summary['case_sha256'][:12]}), stepout {version}, "
            f"data grade {summary['data_grade'] or NONE}"]


def write_machines(motors: dict[str, dict]) -> list[str]:
    """A line per machine; trip reasons below."""
    tripped = [f"{name} tripped: {motor['trip_reason']}" for name, motor in motors.items()
               if motor["trip_reason"]]
    return [*write_things(MACHINES_HEADING, MACHINES, motors, ("outcome",)),
            *(line for text in tripped for line in fill(text))]


def write_nodes(nodes: dict[str, dict]) -> list[str]:
    """A line per node; below, highest voltages above nominal that came after the supply had opened."""
    excited = [f"{name} reached {values['max_urms_after_opening_pu']:.3f} pu after its supply had opened"
               for name, values in nodes.items()
               if (values.get("max_urms_after_opening_pu") or 0.0) >= max(values.get("max_urms_pu") or 0.0, 1.0)]
    least = "; > at least" if any(values.get("peak_at_least") for values in nodes.values()) else ""
    return [*write_things(f"Nodes: one-cycle RMS, sag, peaks to earth and between phases{least}", NODES, nodes),
            *(line for text in excited for line in fill(text))]


def write_switching(summary: dict[str, Any]) -> list[list[str]]:
    """Tables of what breakers, arresters and faults went through; those that went through nothing are left out."""
    return [write_things(heading, columns, drop_idle(summary.get(part) or {}, columns))
            for heading, columns, part in (
                ("Breakers: the worst pole of each; time without a zero is counted beyond half a cycle", BREAKERS,
                 "breakers"),
                ("Arresters: the most loaded phase of each", ARRESTERS, "arresters"), ("Faults", FAULTS, "faults"))]


def write_openings(ranges: dict[str, dict]) -> list[list[str]]:
    """A table for each breaker that opened at many moments; one whose surge is not resolved says so."""
    return [write_things(
        f"{one['openings']} openings of {name} at moments spread over a period, {one['reignite']} re-ignite: peaks to "
        "earth", OPENINGS, one["nodes"]) for name, one in ranges.items() if one["nodes"]]


def write_statistics(statistics: dict[str, Any] | None) -> list[str]:
    """What closings at random left at every node that they reached."""
    if statistics is None:
        return []
    reached = {name: values for name, values in statistics["nodes"].items() if values["max_pu"] > 0.0}
    heading = (f"{statistics['shots']} closings of {statistics['breaker']} at random: peaks to earth, the 2 % value "
               "with its 90 % interval,\n  the 2 % value between phases, the worse of both against the lightning "
               "withstand")
    table = write_things(heading, STATISTICS, reached)
    return [*table, *tell_worst(reached)]


def tell_worst(reached: dict[str, dict]) -> list[str]:
    """The closing with the largest peak of all, so that it can be repeated by itself."""
    if not reached:
        return []
    name = max(reached, key=lambda name: reached[name]["max_pu"])
    worst = reached[name]["worst"]
    poles = ", ".join(f"{moment:.5f}" for moment in worst["poles_s"])
    charges = "".join(f"; {cable} charged to {', '.join(f'{share:.3f}' for share in shares)} pu"
                      for cable, shares in worst["charges_pu"].items())
    return fill(f"largest of all at {name}: closing {worst['number']}, poles a, b, c at {poles} s{charges}")


def drop_idle(things: dict[str, dict], columns: tuple) -> dict[str, dict]:
    """Those things that have a value in any column."""
    return {name: values for name, values in things.items()
            if any(values[key] is not None for _, _, key, _ in columns)}


def write_things(heading: str, columns: tuple, things: dict[str, dict],
                 words: tuple[str, ...] = ()) -> list[str]:
    """A table with a line per thing; `words` are text columns before the numbers."""
    if not things:
        return []
    head = [["", *words, *(title for title, *_ in columns)], ["", *words, *(column[1] for column in columns)]]
    head[1][1:1 + len(words)] = [""] * len(words)
    rows = [[name, *(str(values[word]) for word in words),
             *(("> " if key in LEAST and values.get("peak_at_least") else "") + write_number(values[key], form)
               for _, _, key, form in columns)]
            for name, values in things.items()]
    return [heading, *align(head, rows, left=1 + len(words))]


def write_quality(quality: dict[str, Any], timing: dict[str, Any]) -> list[str]:
    """How far the numbers can be trusted, and what they cost."""
    steps = [write_number(quality[f"steps_{engine}"], "d") for engine in ("envelope", "waveform")]
    chatter = quality.get("chatter_steps")
    alternating = "" if chatter is None else f"at most {chatter} alternating steps, "
    text = (f"energy residual {write_number(quality['energy_residual_pct'], '.2g')} %, {steps[0]} envelope "
            f"and {steps[1]} waveform steps, {alternating}{len(quality['handovers'])} hand-overs, solved in "
            f"{write_number(timing['solve_s'])} s of {write_number(timing['total_s'])} s")
    return ["Quality", *fill(text)]


def shorten(caution: str) -> str:
    """A caution as it is when short, else its first sentence."""
    return caution if len(caution) <= BRIEF else caution.partition(". ")[0].rstrip(".") + "."
