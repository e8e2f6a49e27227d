"""What happened when: fine vertical lines through all panels, and labels in a strip above them."""

from dataclasses import dataclass

import numpy as np

from plots.page.page import LINE_HEIGHT, palette, text_width, write

ROW = palette.SMALL * LINE_HEIGHT * 1.08     # height of one row of labels [inch]
PAD = 0.05                                   # between a flag's line and its label [inch]
BOTH, LEFT_ONLY = (False, True), (True,)     # sides of a label, told by whether it is to the left


@dataclass(frozen=True)
class Flag:
    """A moment on the axis of a figure, with its label and colour; `emphatic` lines are solid."""

    x: float
    text: str
    colour: str = palette.QUIET
    emphatic: bool = False


@dataclass(frozen=True)
class Place:
    """Row of a flag's label, counted from the panels up, and its span along the axis. [inch]"""

    row: int
    start: float
    end: float
    leftward: bool


def arrange(positions, widths, room):
    """Rows for labels such that no label meets another, nor the line of a flag that passes it.

    Parameters
    ----------
    positions : sequence of float
        Where each flag stands along the axis. [inch]
    widths : sequence of float
        Width of each label. [inch]
    room : float
        Length of the axis; labels that would leave it are written to the left of their line. [inch]

    Returns
    -------
    places : list of Place
    """
    sides = [find_sides(x, width, room) for x, width in zip(positions, widths)]
    while True:
        placed, stuck = place_all(positions, widths, sides)
        if stuck is None or sides[stuck] != BOTH:
            return [placed[k] for k in range(len(positions))]
        sides[stuck] = LEFT_ONLY


def find_sides(x, width, room):
    """Sides of its line on which a label stays within the axis, the right one first."""
    return tuple(side for side in BOTH if fits(x, width, room, side)) or (2.0 * x > room,)


def place_all(positions, widths, sides):
    """Places by index, and the first label that found no free one (None when all did).

    Labels that only go to the left come first, left to right; then the others, right to left.  In this
    order the next label can go above the ones it would meet.
    """
    placed, stuck = {}, None
    count = range(len(positions))
    left = sorted((k for k in count if sides[k] == LEFT_ONLY), key=lambda k: (positions[k], k))
    others = sorted((k for k in count if sides[k] != LEFT_ONLY), key=lambda k: (-positions[k], -k))
    for k in [*left, *others]:
        near = [(positions[j], placed.get(j)) for j in count if j != k]
        placed[k], free = find_place(positions[k], widths[k], sides[k], near)
        stuck = k if stuck is None and not free else stuck
    return placed, stuck


def find_place(x, width, sides, others):
    """First free place of one label, the lowest row and the first side preferred, and whether there is one.

    `others` holds the position and the place of every other flag, None for one not placed yet.
    """
    placed = [(x_other, place) for x_other, place in others if place is not None]
    top = max((place.row for _, place in placed), default=-1) + 1
    options = [span(row, x, width, side) for row in range(top + 1) for side in sides]
    waiting = [x_other for x_other, place in others if place is None]
    free = [place for place in options if is_free(x, place, placed) and not is_crossed(place, waiting, sides)]
    return (free or options[-1:])[0], bool(free)


def is_crossed(place, waiting, sides):
    """Whether the line of a flag yet to be placed may cross a label that need not stand to the left."""
    return place.leftward and False in sides and any(place.start <= x <= place.end for x in waiting)


def fits(x, width, room, leftward):
    """Whether a label beside its line stays within the axis."""
    return x - width - PAD >= 0.0 if leftward else x + width + PAD <= room


def span(row, x, width, leftward):
    """Place of a label in a row, its line included."""
    return Place(row, x - width - 2 * PAD, x, True) if leftward else Place(row, x, x + width + 2 * PAD, False)


def is_free(x, place, others):
    """Whether a label meets no other label and no other line, and its own line meets no label."""
    for x_other, other in others:
        if other.row == place.row and place.start < other.end and other.start < place.end:
            return False
        if other.row > place.row and place.start <= x_other <= place.end and x_other != x:
            return False
        if other.row < place.row and other.start <= x <= other.end and x_other != x:
            return False
    return True


def place_flags(flags, limits, room):
    """Places of flags on an axis with these limits and length [inch]."""
    low, high = limits
    positions = [(flag.x - low) / (high - low) * room for flag in flags]
    return arrange(positions, [text_width(flag.text) for flag in flags], room)


def strip_height(places):
    """Room that the labels need above the panels. [inch]"""
    return ROW * (max((place.row for place in places), default=-1) + 1)


def draw_flags(panels, flags, places):
    """Lines through all panels and labels above the first; call once the panels are laid out.

    Returns the texts.
    """
    for axes in panels:
        for flag in flags:
            draw_line(axes, flag, 0.0, 1.0)
    return [draw_label(panels[0], flag, place) for flag, place in zip(flags, places)]


def draw_line(axes, flag, low, high):
    """A flag's line over part of the height of the axes; it never moves the limits."""
    return axes.plot([flag.x, flag.x], [low, high], transform=axes.get_xaxis_transform(), color=flag.colour,
                     linewidth=0.9, linestyle="-" if flag.emphatic else (0, (1.5, 1.5)), clip_on=False,
                     zorder=1.5, label="_mark", scalex=False, scaley=False)


def draw_label(axes, flag, place):
    """A flag's label in its row, with the line up to it."""
    size = axes.get_window_extent()
    height, width = size.height / palette.DOTS_PER_INCH, size.width / palette.DOTS_PER_INCH
    draw_line(axes, flag, 1.0, 1.0 + (place.row + 0.85) * ROW / height)
    low, high = axes.get_xlim()
    shift = (-PAD if place.leftward else PAD) / width * (high - low)
    colour = palette.INK if flag.colour == palette.QUIET else flag.colour
    return write(axes, flag.x + shift, 1.0 + (place.row + 0.45) * ROW / height, flag.text, color=colour,
                 ha="right" if place.leftward else "left", va="center", transform=axes.get_xaxis_transform(),
                 bbox={"facecolor": "white", "edgecolor": "none", "pad": 0.3}, zorder=6)


def write_time(t):
    """A time [s] to the hundredth, below a second to the thousandth."""
    return write_number(t, 2 if abs(t) >= 1.0 else 3)


def write_number(value, digits):
    """A number with at most so many decimals and no trailing zeros."""
    text = f"{np.round(value, digits) + 0.0:.{digits}f}"
    return (text.rstrip("0").rstrip(".") if "." in text else text).replace("-", "\N{MINUS SIGN}")
