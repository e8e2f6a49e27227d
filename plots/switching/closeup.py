"""Close-up of a switching: phase voltages of the most stressed node, and the currents of the poles.

Peaks are held against the insulation of the node: the crest of the highest voltage for equipment, and the
share of the lightning impulse withstand voltage that the criteria leave to a transient.
"""

from plots.curves.phases import draw_phases, flag_moves, in_amperes, mark_highest
from plots.curves.series import find_limit
from plots.curves.traces import draw_limit, fit_both_ways
from plots.page.assembly import draw_notice, finish, identify
from plots.page.flags import write_number
from plots.page.labels import place_note, place_remark
from plots.page.page import add_axes, name_axes, new_figure, palette, say_empty
from plots.switching.moments import explain_absence, find_window
from sim.measures.verdict.criteria import DEFAULTS
from sim.measures.voltages.overvoltage import PHASE_EARTH_CREST, find_withstand

FAR = 1.5                # a limit beyond so many times the peak is named, not drawn
NOTE_ROOM = 0.32         # free above the highest crest, for notes
HEIGHTS = (2.9, 2.0)


def draw_closeup(run, event, closeup):
    """Figure of one switching.

    Parameters
    ----------
    run : StoredRun
    event : Event
        Of kind "open", "stop", "trip" or "close".
    closeup : Closeup or None
        From `plots.switching.moments.find_closeup`.

    Returns
    -------
    figure : Figure
        Without a close-up, a notice that says what is missing.
    """
    title = f"{event.label}, {write_number(event.t, 4)} s"
    if closeup is None:
        return draw_notice(title, "", explain_absence(run, event), identify(run))
    figure, window = new_figure(), find_window(run, closeup)
    volts = add_axes(figure)
    amps = add_axes(figure, volts)
    draw_phase_voltages(volts, closeup, window)
    draw_pole_currents(amps, run, closeup, window)
    volts.set_xlim(*(1e3 * (moment - event.t) for moment in window))
    volts.tick_params(labelbottom=False)
    unheld = draw_insulation(volts, run, closeup)
    name_axes(amps, x=f"Time after {event.t:g} s [ms]")
    finish(figure, [volts, amps], HEIGHTS, flag_moves(run, event, window), title, describe(run, closeup),
           ("instantaneous values as stored; the peak is the largest of all solver steps", identify(run)))
    add_notes(volts, amps, closeup, unheld)
    return figure


def draw_phase_voltages(axes, closeup, window):
    """Phase-to-earth voltages of the node."""
    name_axes(axes, y="Voltage to earth [kV]")
    return draw_phases(axes, closeup.stretch, closeup.node.name, "voltage", window, closeup.event.t, 1e-3)


def draw_pole_currents(axes, run, closeup, window):
    """Currents of the poles that were switched, else of the machine behind them."""
    name_axes(axes, y="Pole current [A]")
    lines = draw_phases(axes, closeup.stretch, closeup.event.where, "current", window, closeup.event.t)
    if not lines:
        return [say_empty(axes, f"This run holds no pole currents of {closeup.event.where}.")]
    fit_both_ways(axes, room=NOTE_ROOM if closeup.event.what == "close" else 0.08)
    return lines


def draw_insulation(axes, run, closeup):
    """Insulation levels as lines where they are near the peak.

    Returns the words for what is not drawn: levels far beyond the peak, or none given.
    """
    levels, words = list_levels(run, closeup.node)
    peak = abs(closeup.peak[1])
    for level, name in levels:
        if level <= FAR * peak:
            draw_limit(axes, 1e-3 * level, name)
            draw_limit(axes, -1e-3 * level, f"_{name}")
        else:
            flat = name.replace("\n", " ")
            words.append(f"beyond this scale: {flat}; the peak is at {100 * peak / level:.0f} % of it")
    drawn = [level for level, _ in levels if level <= FAR * peak]
    fit_both_ways(axes, 1e-3 * max([peak, *drawn]), NOTE_ROOM)
    return words


def list_levels(run, node):
    """Insulation levels of a node, lowest first, as (crest [V], name), and words for what is not known."""
    levels, words = [], []
    if node.um_v is not None:
        crest = PHASE_EARTH_CREST * node.um_v
        levels.append((crest, f"highest voltage {node.um_v / 1e3:g} kV:\n{crest / 1e3:.1f} kV crest"))
    withstand, origin = find_withstand(node)
    if withstand is None:
        words.append(f"no insulation level given: {origin}")
    else:
        share = find_limit(run, "transient_peak", node.name) or DEFAULTS["overvoltage_max_pct_of_withstand"]
        levels.append((0.01 * share * withstand, f"{share:g} % of {withstand / 1e3:g} kV\nwithstand: "
                                                 f"{share * withstand / 1e5:.1f} kV"))
    return levels, words


def describe(run, closeup):
    """The peak in a sentence, with "at least" where the run's band leaves some of it out."""
    node, (at, value, phase) = closeup.node, closeup.peak
    where, when = f"{node.name} ({node.nominal_v / 1e3:g} kV)", 1e3 * (at - closeup.event.t)
    kept = run.peaks.get(node.name)
    least = "at least " if kept is not None and kept.needed > 0.0 else ""
    return (f"highest peak after it at {where}: {least}{in_words(node, value)} to earth, phase {phase}, "
            f"{when:.2f} ms after the order")


def in_words(node, value):
    """A crest in kilovolt and per unit of the nominal crest."""
    return f"{abs(value) / 1e3:.3g} kV ({abs(value) / (PHASE_EARTH_CREST * node.nominal_v):.2f} pu)"


def add_notes(volts, amps, closeup, unheld):
    """The peak, what is not drawn, and the highest current."""
    at, value, phase = closeup.peak
    point = (1e3 * (at - closeup.event.t), 1e-3 * value)
    notes = [place_note(volts, point, in_words(closeup.node, value), palette.PHASES[phase])]
    if unheld:
        notes.append(place_remark(volts, "\n".join(unheld), palette.LIMIT, notes))
    if closeup.event.what == "close":
        mark_highest(amps, in_amperes)
    return notes
