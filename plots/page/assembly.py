"""From drawn panels to a finished page: flags, labels at the ends, head and foot."""

from plots.curves.series import waveform_spans
from plots.page.flags import draw_flags, place_flags, strip_height
from plots.page.labels import label_ends, label_room
from plots.page.page import (
    FOOT,
    GAP,
    LEFT,
    WIDTH,
    add_axes,
    header_height,
    lay_out,
    new_figure,
    palette,
    say_empty,
    wrap,
    write_footer,
    write_header,
)

HEAD_GAP = 0.14


def finish(figure, panels, heights, flags, title, sentence, notes=("", ""), colour=palette.INK, gap=GAP,
           flagged=None):
    """Lay out the panels of a figure, mark the flags, name the lines, write head and foot.

    Parameters
    ----------
    figure : Figure
    panels : list of Axes
        All axes of the figure, first on top.
    heights : list of float
        Of the panels. [inch]
    flags : list of Flag
    title, sentence : str
    notes : tuple of str
        Left and right text at the foot.
    colour : colour
        Of the sentence.
    gap : float or list of float
        Between the panels. [inch]
    flagged : int, optional
        So many panels, from the top, share the axis of the flags; all of them by default.

    Returns
    -------
    figure : Figure
        Limits and positions are final: notes may be placed.
    """
    sentence, right = wrap(sentence), label_room(panels)
    places = place_flags(flags, panels[0].get_xlim(), WIDTH - LEFT - right)
    lay_out(figure, heights, header_height(sentence) + strip_height(places) + HEAD_GAP, right, gap, FOOT)
    draw_flags(panels[:flagged], flags, places)
    for axes in panels:
        label_ends(axes)
    write_header(figure, title, sentence, colour)
    write_footer(figure, *notes)
    return figure


def draw_notice(title, sentence, text, right=""):
    """A figure that only says why there is nothing to draw."""
    figure = new_figure()
    axes = add_axes(figure)
    axes.set_xticks([])
    axes.spines[:].set_visible(False)
    say_empty(axes, text)
    return finish(figure, [axes], [1.6], [], title, sentence, ("", right))


def title_of(run):
    """The title of the case, else the name of the run."""
    return getattr(run.case, "title", None) or run.label


def sentence_of(run):
    """The verdict in a sentence."""
    return run.summary.get("sentence") or f"verdict: {run.summary.get('verdict') or 'not assessed'}"


def colour_of(run):
    """Colour of the verdict."""
    return palette.VERDICTS.get(run.summary.get("verdict"), palette.INK)


def identify(run):
    """Which run a figure shows: its label, the version, the case's hash and the data grade."""
    version, case = run.summary.get("stepout_version"), run.summary.get("case_sha256")
    grade = run.summary.get("data_grade")
    parts = [run.label, version and f"stepout {version}", case and f"case {case[:10]}",
             grade and f"data grade {grade}"]
    return "  ·  ".join(part for part in parts if part)


def describe_lines(run):
    """What shading and light lines mean in this run."""
    if not waveform_spans(run):
        return "envelope engine throughout: no values within a cycle"
    bold = "bold: mean over one rated cycle; light: within the cycle"
    mixed = any(stretch.engine == "envelope" for stretch in run.stretches)
    return f"{bold}; shaded: waveform engine" if mixed else bold
