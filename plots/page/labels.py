"""Labels beside the lines they name, and notes in the emptiest place near a point."""

import numpy as np

from plots.page.page import LINE_HEIGHT, palette, text_width, write

OFFSET = 0.09       # from the end of the axes to a label [inch]
CLEAR = 5.0         # clear space around a note [pixel]
GRID = 4.0          # lines under a note are counted on a grid this coarse [pixel]
INSIDE = 4.0        # notes stay this far from the edge of the axes [pixel]
DISTANCE = 0.08     # cost of a pixel of distance, in points of line under a note
CROSSING = 2.0      # cost of a leader that runs over a line at one of the shares of its length
LEADER_SHARES = np.linspace(0.2, 0.9, 8)
COVERED = 1000.0    # cost of a note or its leader on another note
NEAR = 8.0          # a note closer than this to its point needs no leader [pixel]
SEGMENT = 6.0       # a line is seen as a point every so many pixels


def named_lines(axes):
    """Lines that carry a name of their own."""
    return [line for line in axes.lines if not line.get_label().startswith("_")]


def label_room(axes_list):
    """Width that the labels of these axes need at the right. [inch]"""
    widths = [text_width(line.get_label()) for axes in axes_list for line in named_lines(axes)]
    return max(widths, default=0.0) + OFFSET + 0.14


def label_ends(axes):
    """Write the name of every named line beside its end, apart from each other.

    Call once limits and position of the axes are final.  Returns the texts.
    """
    lines = named_lines(axes)
    height = axes.get_window_extent().height
    size = palette.SMALL * LINE_HEIGHT * palette.DOTS_PER_INCH
    wanted = np.array([end_height(axes, line) for line in lines]) * height
    places = spread(wanted, [size * (line.get_label().count("\n") + 1) for line in lines], height)
    return [label_end(axes, line, want / height, place / height)
            for line, want, place in zip(lines, wanted, places)]


def end_height(axes, line):
    """Where a line ends, as a share of the height of its axes."""
    y = np.asarray(line.get_ydata(orig=False), float)
    y = y[np.isfinite(y)]
    low, high = axes.get_ylim()
    return float(np.clip((y[-1] - low) / (high - low), 0.0, 1.0)) if len(y) else 0.5


def label_end(axes, line, end, place):
    """One label, with a fine leader from the end of the line when it had to move."""
    width = axes.get_window_extent().width / palette.DOTS_PER_INCH
    x = 1.0 + OFFSET / width
    colour = palette.INK if line.get_color() == palette.QUIET else line.get_color()
    axes.plot([1.0 + 0.015 / width, x - 0.015 / width], [end, place], color=colour, linewidth=0.6,
              transform=axes.transAxes, clip_on=False, label="_leader", scalex=False, scaley=False)
    return write(axes, x, place, line.get_label(), color=colour, va="center", transform=axes.transAxes)


def spread(wanted, sizes, room):
    """Centres as near as may be to the wanted ones, such that labels of these sizes do not overlap.

    Neighbours that collide become a block centred on the mean of their wishes; blocks merge until none
    collide.  Shapes (n,), any unit; `room` is the height they should stay within.
    """
    order = np.argsort(wanted, kind="stable")
    blocks = []
    for k in order:
        blocks.append([[k], sizes[k], float(wanted[k])])
        blocks[-1][2] = hold_inside(*blocks[-1][1:], room)
        while len(blocks) > 1 and blocks[-2][2] + 0.5 * (blocks[-2][1] + blocks[-1][1]) > blocks[-1][2]:
            blocks[-2:] = [merge(blocks[-2], blocks[-1], wanted, sizes, room)]
    places = np.zeros(len(order))
    for members, size, centre in blocks:
        tops = np.cumsum([sizes[k] for k in members])
        places[members] = centre - 0.5 * size + tops - 0.5 * np.array([sizes[k] for k in members])
    return places


def merge(low, high, wanted, sizes, room):
    """Two colliding blocks as one."""
    members, size = low[0] + high[0], low[1] + high[1]
    tops = np.cumsum([sizes[k] for k in members])
    middles = tops - 0.5 * np.array([sizes[k] for k in members]) - 0.5 * size
    return [members, size, hold_inside(size, float(np.mean(wanted[members] - middles)), room)]


def hold_inside(size, centre, room):
    """Centre of a block kept within the room; a block that does not fit is centred."""
    return float(np.clip(centre, 0.5 * size, room - 0.5 * size)) if size <= room else 0.5 * room


def find_point(axes, name, x):
    """Point at x of the line of this name, in data coordinates and straight between its points, and its colour."""
    line = next(line for line in axes.lines if line.get_label() == name)
    return (x, float(np.interp(x, *line.get_data()))), line.get_color()


def place_note(axes, point, text, colour=palette.INK, taken=(), marker="o"):
    """Event a point and write a note beside it where the fewest lines run.

    Parameters
    ----------
    axes : Axes
        With final limits and position.
    point : tuple of float
        In data coordinates.
    text : str
    colour : colour
    taken : iterable of Text
        Notes to keep clear of.
    marker : str
        "" for a note without a mark.

    Returns
    -------
    note : Text
    """
    at, box = axes.transData.transform(point), measure_box(text)
    best = find_corner(axes, around(at, box), box, at, taken, leader=True)
    if marker:
        axes.plot(*point, marker=marker, color=colour, markersize=4.5, markeredgecolor="white",
                  label="_point", zorder=6, clip_on=False, scalex=False, scaley=False)
    draw_leader(axes, at, best, box, colour)
    return write_note(axes, best, box, text, colour)


def place_remark(axes, text, colour=palette.QUIET, taken=()):
    """Write a remark that belongs to no point where the fewest lines run, preferably at the top right."""
    frame, box = axes.get_window_extent(), measure_box(text)
    span = np.maximum([frame.width - box[0] - 2 * CLEAR, frame.height - box[1] - 2 * CLEAR], 0.0)
    shares = np.array([(x, y) for y in np.linspace(1.0, 0.0, 13) for x in np.linspace(1.0, 0.0, 21)])
    corners = np.array([frame.x0, frame.y0]) + CLEAR + shares * span
    at = np.array([frame.x1, frame.y1])
    return write_note(axes, find_corner(axes, corners, box, at, taken), box, text, colour)


def measure_box(text):
    """Width and height of a note. [pixel]"""
    height = palette.SMALL * LINE_HEIGHT * (text.count("\n") + 1)
    return np.array([text_width(text), height]) * palette.DOTS_PER_INCH


def find_corner(axes, corners, box, at, taken, leader=False):
    """The corner at which a note, and its leader if it has one, does the least harm. [pixel]"""
    frame = axes.get_window_extent()
    low, high = np.array([frame.x0, frame.y0]), np.array([frame.x1, frame.y1])
    beyond = np.maximum(low - corners, corners + box - high).max(axis=1) + INSIDE
    cost = count_ink(trace_pixels(axes) - low, corners - CLEAR - low, box + 2 * CLEAR, high - low)
    ends = np.clip(at, corners, corners + box)
    cost = cost + DISTANCE * np.hypot(*(ends - at).T) + np.where(beyond > 0.0, 500.0 + beyond, 0.0)
    if leader:
        cost = cost + cross_ink(trace_pixels(axes), at, ends)
    for other_low, other_high in (note.note_box for note in taken):
        meets = (corners - CLEAR < other_high).all(axis=1) & (corners + box + CLEAR > other_low).all(axis=1)
        if leader:
            steps = at + LEADER_SHARES[:, None, None] * (ends - at)
            meets |= ((steps > other_low) & (steps < other_high)).all(axis=2).any(axis=0)
        cost = cost + COVERED * meets
    return corners[np.argmin(cost)]


def cross_ink(ink, at, ends):
    """Cost of leaders from one point to some ends, shape (n, 2), that run over lines. [pixel]"""
    low = ink.min(axis=0, initial=0.0)
    size = np.maximum(ink.max(axis=0, initial=1.0), np.max(ends, axis=0)) - low + 1.0
    steps = [at + share * (ends - at) for share in LEADER_SHARES]
    return CROSSING * sum(count_ink(ink - low, step - GRID - low, np.full(2, 2 * GRID), size) > 0.0
                          for step in steps)


def count_ink(ink, corners, box, size):
    """Points of lines under boxes of one size at some corners, shape (n,), from sums over a coarse grid.

    All lengths in pixels from the lower left corner of axes of this size.
    """
    shape = np.ceil(size / GRID).astype(int)
    cells = np.floor(ink[((ink >= 0.0) & (ink < size)).all(axis=1)] / GRID).astype(int)
    sums = np.zeros(shape + 1)
    np.add.at(sums, (cells[:, 0] + 1, cells[:, 1] + 1), 1.0)
    sums = sums.cumsum(axis=0).cumsum(axis=1)
    x0, y0 = np.clip(np.floor(corners / GRID).astype(int), 0, shape).T
    x1, y1 = np.clip(np.ceil((corners + box) / GRID).astype(int), 0, shape).T
    return sums[x1, y1] - sums[x0, y1] - sums[x1, y0] + sums[x0, y0]


def write_note(axes, corner, box, text, colour):
    """Text on a white ground with its lower left corner at a pixel; keeps its box as `note_box`."""
    x, y = axes.transAxes.inverted().transform(corner)
    note = write(axes, x, y, text, color=colour, va="bottom", transform=axes.transAxes, zorder=7,
                 linespacing=1.2, bbox={"facecolor": "white", "alpha": 0.8, "edgecolor": "none", "pad": 1.0})
    note.note_box = (corner, corner + box)
    return note


def around(at, box):
    """Lower left corners at which a note may stand, nearest first, shape (n, 2)."""
    corners = [at + [dx - 0.5 * box[0] * (1 - np.sign(dx)), dy - 0.5 * box[1] * (1 - np.sign(dy))]
               for reach in (14, 32, 60, 100, 150, 220)
               for dx in (reach, -reach, 2.2 * reach, -2.2 * reach, 0.0)
               for dy in (reach, -reach, 0.5 * reach, -0.5 * reach)]
    return np.array(corners)


def draw_leader(axes, at, corner, box, colour):
    """Fine line from a point to the nearest point of its note, ending just short of the text."""
    ends = np.array([at, np.clip(at, corner - 3.0, corner + box + 3.0)])
    if np.hypot(*(ends[1] - ends[0])) < NEAR:
        return []
    x, y = axes.transAxes.inverted().transform(ends).T
    return axes.plot(x, y, color=colour, linewidth=0.6, transform=axes.transAxes, label="_leader", zorder=5,
                     scalex=False, scaley=False)


def trace_pixels(axes):
    """Every line of the axes as points at most a few pixels apart, shape (n, 2). [pixel]"""
    parts = [walk(line.get_transform().transform(np.column_stack(line.get_data(orig=False))))
             for line in axes.lines if line.get_label() != "_point"]
    return np.concatenate(parts) if parts else np.empty((0, 2))


def walk(points):
    """A polyline filled up with points every few pixels; gaps stay gaps."""
    points = points[np.isfinite(points).all(axis=1)] if len(points) < 2 else points
    step = np.diff(points, axis=0)
    length = np.hypot(step[:, 0], step[:, 1]) if len(step) else np.empty(0)
    count = np.where(np.isfinite(length), np.minimum(np.ceil(length / SEGMENT), 400), 0).astype(int)
    start = np.repeat(np.arange(len(step)), count)
    share = (np.arange(len(start)) - np.repeat(np.cumsum(count) - count, count)) / np.repeat(
        np.maximum(count, 1), count)
    return points[start] + share[:, None] * step[start]
