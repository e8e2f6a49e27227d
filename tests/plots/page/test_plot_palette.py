"""Colours that stay apart, also for a reader with deuteranopia, and that are nobody's phase code."""

import colorsys
from itertools import combinations

import numpy as np
import pytest
from figure_runs import make_drive_case, make_machine, make_node

from plots.page.page import palette

# G. M. Machado, M. M. Oliveira, L. A. F. Fernandes, "A Physiologically-based Model for Simulation of Color
# Vision Deficiency", IEEE Trans. Visualization and Computer Graphics 15 (2009), deuteranomaly of severity 1.0
# (from memory, to be checked; its rows sum to one, as they must for white to stay white).
DEUTERANOPIA = np.array([[0.367322, 0.860646, -0.227968], [0.280085, 0.672501, 0.047413],
                         [-0.011820, 0.042940, 0.968881]])
# IEC 61966-2-1 (sRGB): linear RGB to CIE XYZ, and its white point.
TO_XYZ = np.array([[0.4124, 0.3576, 0.1805], [0.2126, 0.7152, 0.0722], [0.0193, 0.1192, 0.9505]])
WHITE = np.array([0.9505, 1.0, 1.089])
APART = 20.0    # CIE 1976 difference; 2.3 is just noticeable side by side, thin lines need several times that


def split(colour):
    return np.array([int(colour[k:k + 2], 16) / 255.0 for k in (1, 3, 5)])


def find_lab(colour, vision):
    """CIE 1976 L*a*b* of a colour as seen through a matrix on linear RGB."""
    code = split(colour)
    linear = np.where(code <= 0.04045, code / 12.92, ((code + 0.055) / 1.055) ** 2.4)
    xyz = TO_XYZ @ np.clip(vision @ linear, 0.0, 1.0) / WHITE
    f = np.where(xyz > 0.008856, np.cbrt(xyz), 7.787 * xyz + 16.0 / 116.0)
    return np.array([116.0 * f[1] - 16.0, 500.0 * (f[0] - f[1]), 200.0 * (f[1] - f[2])])


@pytest.mark.parametrize("vision", [np.eye(3), DEUTERANOPIA], ids=["full", "deuteranopia"])
@pytest.mark.parametrize("colours", [palette.LINES, tuple(palette.PHASES.values())], ids=["lines", "phases"])
def test_colours_stay_apart(colours, vision):
    for one, other in combinations(colours, 2):
        assert np.linalg.norm(find_lab(one, vision) - find_lab(other, vision)) > APART, (one, other)


def test_no_phase_is_red():
    """Red is part of both phase codes in use (red, yellow, blue; red, green, blue)."""
    for colour in palette.PHASES.values():
        hue = 360.0 * colorsys.rgb_to_hsv(*split(colour))[0]
        assert min(hue, 360.0 - hue) > 25.0, colour


def test_node_shares_the_colour_of_its_machine():
    colours = palette.pick_colours(make_drive_case())
    assert colours["motor_bus"] == colours["booster"] != colours["host_drive"] == colours["host"]


def test_names_beyond_the_palette_are_grey():
    nodes = [make_node(f"n{k}", 6600.0) for k in range(8)]
    case = make_drive_case(nodes=nodes, drives=[], machines=[make_machine(node="n0")])
    colours = palette.pick_colours(case)
    assert list(colours.values()).count(palette.QUIET) == 2
