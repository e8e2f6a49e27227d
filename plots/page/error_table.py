"""A table of figures that a model was fitted to and what it makes of them, the error as a number and as a bar."""

from collections.abc import Sequence

from plots.page.page import LINE_HEIGHT, palette, write
from sim.results.fits import Reproduced

ROW = 1.35 * palette.NORMAL * LINE_HEIGHT      # [inch]
CLEAR = 0.46                                   # above the table, for the name of the axis over it [inch]
COLUMNS = ((0.0, "left"), (2.7, "right"), (2.8, "left"), (4.6, "right"), (4.72, "left"), (6.7, "right"))  # edges [inch]
ORIGIN = 2                                     # number of the column that stays quiet
BAR, REACH = 7.8, 0.9                          # middle of the bars and their longest half [inch]
LEAST_SCALE = 5.0                              # full length of a bar; the worst error beyond it stands out [%]
NEGLIGIBLE = 0.005                             # what rounds to 0.00 [%]
HEADS = ("", "fitted to", "", "reproduced", "", "error")


def find_worst(figures: Sequence[Reproduced]) -> Reproduced | None:
    """The figure with the largest error; None without figures."""
    return max(figures, key=lambda figure: abs(figure.error_pct), default=None)


def table_height(figures: Sequence[Reproduced]) -> float:
    """Height of the axes that hold the table. [inch]"""
    return CLEAR + ROW * (len(figures) + 1)


def add_table(figure):
    """Axes for the table, without frame; their height should be `table_height`."""
    axes = figure.add_axes((0.1, 0.1, 0.8, 0.8))
    axes.set_axis_off()
    axes.set_label("table")
    return axes


def fill_table(axes, figures: Sequence[Reproduced]) -> None:
    """Write the table; call once the position of the axes is final."""
    box = axes.get_window_extent()
    width, height = box.width / palette.DOTS_PER_INCH, box.height / palette.DOTS_PER_INCH
    axes.set_xlim(0.0, width)
    axes.set_ylim(0.0, height)
    worst = find_worst(figures)
    scale = max(LEAST_SCALE, abs(worst.error_pct))
    top = ROW * len(figures)
    write_row(axes, top, HEADS, palette.QUIET)
    axes.plot([0.0, BAR + REACH], [top, top], color=palette.RULE, linewidth=0.8, label="_rule")
    axes.plot([BAR, BAR], [0.0, top], color=palette.QUIET, linewidth=0.6, label="_zero")
    for k, row in enumerate(figures):
        colour = palette.LIMIT if row is worst and abs(row.error_pct) > LEAST_SCALE else palette.INK
        draw_row(axes, top - ROW * (k + 1), row, scale, colour)


def draw_row(axes, y: float, row: Reproduced, scale: float, colour) -> None:
    """One figure: words, numbers and the error as a bar."""
    cells = (row.name, write_value(row.target), row.origin, write_value(row.reproduced), row.unit,
             write_error(row.error_pct))
    write_row(axes, y, cells, colour)
    axes.barh(y + 0.5 * ROW, REACH * row.error_pct / scale, height=0.55 * ROW, left=BAR, linewidth=0.0,
              color=palette.LIMIT if colour == palette.LIMIT else palette.LINES[0], zorder=2)


def write_row(axes, y: float, cells: Sequence[str], colour) -> None:
    """Words flush left, numbers flush right in their columns; origins in quiet colour and small."""
    for k, ((x, side), cell) in enumerate(zip(COLUMNS, cells)):
        look = {"color": palette.QUIET} if k == ORIGIN else {"color": colour, "fontsize": palette.NORMAL}
        write(axes, x, y + 0.5 * ROW, cell, ha=side, va="center", **look)


def write_value(value: float) -> str:
    """Four significant digits without an exponent."""
    return f"{value:.0f}" if abs(value) >= 1000.0 else f"{value:.4g}"


def write_error(error_pct: float) -> str:
    """An error with its sign, none where it rounds to zero."""
    return "0.00 %" if abs(error_pct) < NEGLIGIBLE else f"{error_pct:+.2f} %"
