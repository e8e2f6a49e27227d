"""Overview of a run: voltage, current and, of what turns, speed and torque on one time axis, events flagged.

Single poles are left to the close-ups.
"""

from plots.curves.panels import (
    describe_clipped,
    draw_currents,
    draw_speeds,
    draw_torques,
    draw_voltages,
    find_reached,
)
from plots.curves.series import find_end, find_planned_end, find_sampling, list_flagged, waveform_spans
from plots.page.assembly import colour_of, describe_lines, draw_notice, finish, identify, sentence_of, title_of
from plots.page.flags import Flag, write_number, write_time
from plots.page.labels import place_note, place_remark
from plots.page.page import add_axes, name_axes, new_figure, palette, write

FULL = ((draw_voltages, 1.75), (draw_currents, 1.55), (draw_speeds, 1.55), (draw_torques, 1.55))
BARE = ((draw_voltages, 2.9), (draw_currents, 2.3))       # nothing turns in the case


def draw_overview(run):
    """The overview figure of one run.

    Parameters
    ----------
    run : StoredRun

    Returns
    -------
    figure : Figure
        Four panels, two where nothing turns; each says so when its data are not there.
    """
    if find_end(run) is None:
        text = "This run left no samples: there is nothing to draw."
        return draw_notice(title_of(run), sentence_of(run), text, identify(run))
    figure, chosen = new_figure(), FULL if run.case.machines or run.case.drives else BARE
    panels = draw_panels(figure, run, chosen)
    flags = [make_flag(event) for event in list_flagged(run.events)]
    finish(figure, panels, [height for _, height in chosen], flags, title_of(run), sentence_of(run),
           (describe_lines(run), identify(run)), colour_of(run))
    add_notes(panels, run)
    return figure


def draw_panels(figure, run, chosen):
    """The chosen panels on one time axis."""
    panels = []
    for draw, _ in chosen:
        axes = add_axes(figure, panels[0] if panels else None)
        panels.append(axes)
        draw(axes, run)
    frame_time(panels, run)
    shade_stretches(panels, run)
    return panels


def frame_time(panels, *runs):
    """One time axis as long as the longest run asked for, numbered at the foot only.

    The time that a single run was asked for but did not reach is hatched.
    """
    ends = [find_planned_end(run) for run in runs]
    panels[0].set_xlim(min(first for first, _ in ends), max(last for _, last in ends))
    if len(runs) == 1:
        mark_missing(panels, runs[0])
    for axes in panels[:-1]:
        axes.tick_params(labelbottom=False)
    name_axes(panels[-1], x="Time [s]")


def make_flag(event):
    """Flag of an event; a trip is shown in the colour of limits."""
    tripped = event.what == "trip"
    return Flag(event.t, f"{event.label}, {write_time(event.t)} s",
                palette.LIMIT if tripped else palette.QUIET, tripped)


def shade_stretches(panels, run):
    """Shade what the waveform engine carried, when the envelope engine carried the rest."""
    if all(stretch.engine == "waveform" for stretch in run.stretches):
        return []
    return [axes.axvspan(*span, color=palette.SHADE, zorder=0.5, linewidth=0.8)
            for axes in panels for span in waveform_spans(run)]


def mark_missing(panels, run):
    """Hatch the time that was asked for but not computed; the last steps of a whole run may not have been stored."""
    end, planned = find_end(run)[1], find_planned_end(run)[1]
    if planned - end <= find_sampling(run):
        return []
    spans = [axes.axvspan(end, planned, facecolor="none", edgecolor=palette.RULE, hatch="////", linewidth=0.0,
                          zorder=0.6) for axes in panels]
    text = write(panels[0], 0.5 * (end + planned), 0.5, f"not computed:\nended at {write_number(end, 3)} s",
                 ha="center", va="center", transform=panels[0].get_xaxis_transform(), color=palette.LIMIT,
                 bbox={"facecolor": "white", "edgecolor": "none", "pad": 1.5}, zorder=8)
    return [*spans, text]


def add_notes(panels, run):
    """Time to speed in the speed panel, ripple beyond the scale in the torque panel."""
    notes = []
    for machine in run.case.machines:
        reached = find_reached(run, machine)
        if reached is not None:
            notes.append(place_note(panels[2], *reached, taken=notes))
    clipped = describe_clipped(panels[-1])
    return notes + ([place_remark(panels[-1], clipped)] if clipped else [])
