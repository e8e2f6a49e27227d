"""Paper: figures built from inches, axes with the house's looks, files that are whole or absent."""

import os
import re
import textwrap
from functools import lru_cache
from pathlib import Path

import numpy as np
from matplotlib.backends.backend_agg import FigureCanvasAgg, RendererAgg
from matplotlib.figure import Figure
from matplotlib.font_manager import FontProperties
from matplotlib.ticker import MaxNLocator, ScalarFormatter
from matplotlib.transforms import blended_transform_factory

from plots.page import palette

WIDTH = 10.0
LEFT = 0.78
NAME_SHIFT = 0.3     # of the y names from the left edge [inch]
FOOT = 0.72
GAP = 0.13
LINE_HEIGHT = 1.3 / 72.0     # inches of line height per point of type
HEADER_CHARACTERS = 138


def new_figure():
    """An empty figure of the house's width on an Agg canvas; its height follows from its content."""
    figure = Figure(figsize=(WIDTH, 4.0), dpi=palette.DOTS_PER_INCH, facecolor="white")
    FigureCanvasAgg(figure)
    return figure


def add_axes(figure, below=None):
    """Axes with a light frame and few ticks, sharing the time axis of `below` when given."""
    axes = figure.add_axes((0.1, 0.1, 0.8, 0.8), sharex=below)
    for side in ("top", "right"):
        axes.spines[side].set_visible(False)
    for side in ("left", "bottom"):
        axes.spines[side].set_color(palette.QUIET)
    axes.tick_params(labelsize=palette.SMALL, color=palette.QUIET, labelcolor=palette.INK, length=3)
    axes.grid(True, color=palette.RULE, linewidth=0.5)
    axes.set_axisbelow(True)
    for axis, count in ((axes.xaxis, 8), (axes.yaxis, 5)):
        axis.set_major_locator(MaxNLocator(count, steps=[1, 2, 2.5, 5, 10]))
        axis.set_major_formatter(plain_numbers())
    axes.margins(x=0.0)
    axes.yaxis.set_label_coords(NAME_SHIFT / WIDTH, 0.5, transform=beside(figure, axes))
    return axes


def beside(figure, axes):
    """Along the page from its left edge, along the axes from their foot: where all y names stand in line."""
    return blended_transform_factory(figure.transFigure, axes.transAxes)


def plain_numbers():
    """Tick numbers without a common offset or factor."""
    numbers = ScalarFormatter(useOffset=False)
    numbers.set_scientific(False)
    return numbers


def name_axes(axes, x=None, y=None):
    """Put names with units on the axes."""
    for setter, text in ((axes.set_xlabel, x), (axes.set_ylabel, y)):
        if text:
            setter(text, fontsize=palette.NORMAL, color=palette.INK, parse_math=False)


def write(axes_or_figure, x, y, text, **style):
    """Text in the house's type, never read as a formula."""
    style = {"fontsize": palette.SMALL, "color": palette.INK, "parse_math": False} | style
    return axes_or_figure.text(x, y, text, **style)


@lru_cache(maxsize=512)
def text_width(text, size=palette.SMALL):
    """Width of the widest line of a text in the house's type. [inch]"""
    lines = text.split("\n")
    return max(measure(line, size) for line in lines) if text else 0.0


def measure(line, size):
    """Width of one line. [inch]"""
    font = FontProperties(size=size)
    width, _, _ = scratch().get_text_width_height_descent(line, font, False)
    return width / palette.DOTS_PER_INCH


@lru_cache(maxsize=1)
def scratch():
    """A renderer that only measures."""
    return RendererAgg(10, 10, palette.DOTS_PER_INCH)


def lay_out(figure, heights, top, right, gap=GAP, foot=FOOT):
    """Stack all axes of a figure, first on top; sets the figure's height.

    Parameters
    ----------
    figure : Figure
    heights : list of float
        Height of each axes in the order they were added. [inch]
    top, right, foot : float
        Room above, at the right and below. [inch]
    gap : float or list of float
        Room below each axes but the last, where one axes meets the next. [inch]
    """
    gaps = np.broadcast_to(gap, len(heights) - 1)
    height = top + sum(heights) + gaps.sum() + foot
    figure.set_size_inches(WIDTH, height)
    y = height - top
    for axes, own, below in zip(figure.axes, heights, [*gaps, 0.0]):
        y -= own
        axes.set_position((LEFT / WIDTH, y / height, (WIDTH - LEFT - right) / WIDTH, own / height))
        y -= below


def wrap(text, characters=HEADER_CHARACTERS):
    """A text in lines of at most so many characters; its own line breaks stay."""
    return "\n".join(part for line in text.split("\n") for part in textwrap.wrap(line, characters))


def header_height(sentence):
    """Room for the title and a sentence of some lines. [inch]"""
    lines = sentence.count("\n") + 1 if sentence else 0
    return 0.42 + lines * palette.NORMAL * LINE_HEIGHT


def write_header(figure, title, sentence, colour=palette.INK):
    """Title and sentence at the top left; call after `lay_out`."""
    height = figure.get_size_inches()[1]
    x = 0.18 / WIDTH
    write(figure, x, 1.0 - 0.12 / height, title, fontsize=palette.TITLE, weight="bold", va="top")
    write(figure, x, 1.0 - 0.36 / height, sentence, fontsize=palette.NORMAL, color=colour, va="top")


def write_footer(figure, left, right):
    """One quiet line at the bottom of the page."""
    height = figure.get_size_inches()[1]
    style = {"color": palette.QUIET, "fontsize": palette.SMALL - 0.5, "va": "bottom"}
    write(figure, 0.18 / WIDTH, 0.08 / height, left, **style)
    write(figure, 1.0 - 0.18 / WIDTH, 0.08 / height, right, ha="right", **style)


def say_empty(axes, text):
    """Say in the middle of empty axes what is not there."""
    axes.set_yticks([])
    axes.grid(False)
    return write(axes, 0.5, 0.5, wrap(text, 110), fontsize=palette.NORMAL, color=palette.QUIET, ha="center",
                 va="center", transform=axes.transAxes)


def name_file(*parts):
    """File name of a figure from its kind and the names it shows."""
    return re.sub(r"[^\w.-]+", "_", "_".join(parts)) + ".png"


def save(figure, path):
    """Write a figure beside its place and then rename it, so that a file is whole or absent.

    Raises
    ------
    OSError
        When the directory cannot be made or written.
    """
    path = Path(path)
    path.parent.mkdir(parents=True, exist_ok=True)
    part = path.with_name(f".{path.name}.{os.getpid()}.part")
    try:
        figure.savefig(part, format="png", dpi=palette.DOTS_PER_INCH, pil_kwargs={"compress_level": 1})
        os.replace(part, path)
    finally:
        part.unlink(missing_ok=True)
    return path
