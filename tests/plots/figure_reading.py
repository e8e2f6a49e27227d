"""Read a figure back: its lines by name, its words, and texts that lie on each other."""

from itertools import combinations

SLACK = 1.0     # texts may touch by their antialiased rim [pixel]


def find_line(axes, start):
    """The one line whose name starts so."""
    found = [line for line in axes.lines if line.get_label().startswith(start)]
    assert len(found) == 1, [line.get_label() for line in axes.lines]
    return found[0]


def list_texts(figure):
    """All texts of a figure that would be seen, tick labels included."""
    figure.draw_without_rendering()
    texts = list(figure.texts)
    for axes in figure.axes:
        texts += axes.texts + [axes.xaxis.label, axes.yaxis.label]
        for axis, limits in ((axes.xaxis, axes.get_xlim()), (axes.yaxis, axes.get_ylim())):
            low, high = sorted(limits)
            texts += [tick.label1 for tick in axis.get_major_ticks() if low <= tick.get_loc() <= high]
    return [text for text in texts if text.get_visible() and text.get_text().strip()]


def read_words(figure):
    """Everything written on a figure, in one string."""
    return "\n".join(text.get_text() for text in list_texts(figure))


def find_overlaps(figure):
    """Pairs of texts that overlap, and texts that leave the page."""
    boxes = [(text.get_text(), text.get_window_extent()) for text in list_texts(figure)]
    width, height = figure.canvas.get_width_height()
    outside = [name for name, box in boxes
               if box.x0 < 0 or box.y0 < 0 or box.x1 > width or box.y1 > height]
    pairs = [(name, other) for (name, a), (other, b) in combinations(boxes, 2)
             if min(a.x1, b.x1) - max(a.x0, b.x0) > SLACK and min(a.y1, b.y1) - max(a.y0, b.y0) > SLACK]
    return outside + pairs
