"""Two or more runs on one time axis."""

from plots.curves.panels import describe_clipped, fit_torque
from plots.curves.series import find_end, list_flagged, read, synchronous_speed, waveform_spans
from plots.curves.traces import draw_trace, fit_height
from plots.page.assembly import draw_notice, finish
from plots.page.flags import Flag, write_time
from plots.page.labels import place_remark
from plots.page.page import add_axes, name_axes, new_figure, palette, say_empty, text_width
from plots.starts.overview import frame_time

HEIGHT = 1.55
MOST_NODES = 4
RIPPLE_NOTE = "bold: mean over one rated cycle; light: within the cycle"
LABEL_WIDTH = 1.9     # longest label of a run beside a line [inch]


def draw_machine_overlay(runs, name):
    """Voltage, current, speed and torque of one machine over several runs.

    Parameters
    ----------
    runs : list of StoredRun
    name : str
        Of a machine that at least one run has.

    Returns
    -------
    figure : Figure
    """
    figure, panels = new_figure(), []
    for quantity, axis_name in (("voltage", "Voltage [% of nominal]"), ("current", "Current [% of rated]"),
                                ("speed", "Speed [% of synchronous]"), ("torque", "Torque [% of rated]")):
        axes = add_axes(figure, panels[0] if panels else None)
        panels.append(axes)
        name_axes(axes, y=axis_name)
        draw_runs(axes, runs, name, lambda run: read_machine(run, name, quantity))
        fit_torque(axes) if quantity == "torque" else fit_height(axes)
    finish_overlay(figure, panels, runs, f"{name}: {len(runs)} runs", absent(runs, name))
    clipped = describe_clipped(panels[-1])
    if clipped:
        place_remark(panels[-1], clipped)
    return figure


def draw_node_overlay(runs):
    """Voltages of the nodes that all runs share, for runs without machines; a notice when there are none."""
    names = [node.name for node in runs[0].case.nodes
             if all(find_named(run.case.nodes, node.name) for run in runs)][:MOST_NODES]
    if not names:
        return draw_notice(f"{len(runs)} runs", "", "These runs share no machine and no node.")
    figure, panels = new_figure(), []
    for name in names:
        axes = add_axes(figure, panels[0] if panels else None)
        panels.append(axes)
        name_axes(axes, y=f"{name} [% of nominal]")
        draw_runs(axes, runs, name, lambda run: read_node(run, name))
        fit_height(axes)
    return finish_overlay(figure, panels, runs,
                          f"Node voltages: {len(runs)} runs", "no machine in these runs; ")


def draw_runs(axes, runs, owner, reader):
    """One line for every run that holds the signal of its owner; says so when none does."""
    lines = []
    for k, run in enumerate(runs):
        found = reader(run)
        if found is not None:
            lines += draw_trace(axes, run, owner, *found, shorten(run.label), *look_of(k))
            lines[-1].set(marker="|", markevery=[-1], markersize=7)
    return lines or [say_empty(axes, "None of these runs holds this signal.")]


def look_of(k):
    """Colour and dashes of the k-th run."""
    return palette.LINES[k % len(palette.LINES)], palette.DASHES[k % len(palette.DASHES)]


def shorten(label):
    """A label that fits beside a line; the middle of a long one is left out."""
    while text_width(label) > LABEL_WIDTH:
        label = label.replace("…", "")
        middle = len(label) // 2
        label = f"{label[:middle - 1]}…{label[middle + 1:]}"
    return label


def find_named(records, name):
    """Record of this name, None when there is none."""
    return next((record for record in records if record.name == name), None)


def read_machine(run, name, quantity):
    """Time [s] and a quantity of a machine in per cent; None when the run does not hold it."""
    machine = find_named(run.case.machines, name)
    if machine is None:
        return None
    if quantity == "voltage":
        return read_node(run, machine.node)
    base = {"current": machine.motor.rated_current_a, "speed": synchronous_speed(machine.motor),
            "torque": machine.motor.rated_torque_nm}[quantity]
    found = read(run, name, quantity)
    return None if found is None else (found[0], 100.0 * found[1] / base)


def read_node(run, name):
    """Time [s] and voltage of a node in per cent of nominal; None when the run does not hold it."""
    node, found = find_named(run.case.nodes, name), read(run, name, "voltage")
    return None if node is None or found is None else (found[0], 100.0 * found[1] / node.nominal_v)


def absent(runs, name):
    """Words for the runs that do not have the machine."""
    without = [run.label for run in runs if find_named(run.case.machines, name) is None]
    return f"no machine {name} in: {', '.join(without)}; " if without else ""


def finish_overlay(figure, panels, runs, title, foot):
    """Time axis, flags and a sentence for every run."""
    frame_time(panels, *[run for run in runs if find_end(run) is not None])
    sentence = "\n".join(f"{run.label}: {run.summary.get('verdict') or 'not assessed'}" for run in runs)
    return finish(figure, panels, [HEIGHT] * len(panels), gather_flags(runs), title, sentence,
                  (f"{foot}a bar ends each line", RIPPLE_NOTE if any(map(waveform_spans, runs)) else ""))


def gather_flags(runs):
    """Flags of all runs: what all share in grey, what only some have in the colour of the first of them."""
    owners = {}
    for k, run in enumerate(runs):
        for event in list_flagged(run.events):
            owners.setdefault((round(event.t, 3), event.label), []).append(k)
    return [make_shared_flag(t, label, who, runs) for (t, label), who in owners.items()]


def make_shared_flag(t, label, who, runs):
    """One flag, with the runs it belongs to unless it belongs to all."""
    text = f"{label}, {write_time(t)} s"
    if len(set(who)) == len(runs):
        return Flag(t, text)
    names = ", ".join(shorten(runs[k].label) for k in sorted(set(who)))
    return Flag(t, f"{names}: {text}", look_of(who[0])[0])
