"""Imports only point down the list of layers; packages of one layer do not see each other."""

import ast
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
LAYERS = [                          # top to bottom
    {"sim.cli"}, {"plots", "sim.report", "sim.studies"}, {"sim.store", "sim.measures"}, {"sim.engines"},
    {"sim.phasors"}, {"sim.network"},
    {"sim.case"}, {"sim.topology"}, {"sim.components"}, {"sim.params", "sim.kernels"},
    {"sim.results", "sim.units", "sim.constants", "sim.errors"},
]
RANK = {name: rank for rank, names in enumerate(LAYERS) for name in names}
SCREENS = {"plots", "sim.report"}       # they show what is there: results and measures, nothing that makes them
SHOWN = {"sim.results", "sim.measures", "sim.units", "sim.errors"}
FILES = [path for top in ("sim", "plots") for path in sorted((ROOT / top).rglob("*.py"))
         if path != ROOT / "sim" / "__init__.py"]


def find_home(dotted):
    """Layer a module belongs to."""
    parts = dotted.split(".")
    return ".".join(parts[:2]) if parts[0] == "sim" else parts[0]


def find_module(path):
    """Dotted name of a file of the project."""
    return ".".join(path.relative_to(ROOT).with_suffix("").parts).removesuffix(".__init__")


def list_imports(tree):
    """Dotted names of everything that is imported from elsewhere, wherever the import stands."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom) and not node.level:
            yield from (f"{node.module}.{alias.name}" for alias in node.names)


def test_every_module_has_a_layer():
    assert len(FILES) > 200
    assert [module for module in map(find_module, FILES) if find_home(module) not in RANK] == []


def test_imports_point_down():
    """A layer may import itself and what lies below it; what has no layer is taken from the layer it lives in."""
    offenders = []
    for path in FILES:
        mine = find_home(find_module(path))
        for name in list_imports(ast.parse(path.read_text())):
            theirs = find_home(name)
            if name.partition(".")[0] in ("sim", "plots") and theirs != mine and RANK.get(theirs, -1) <= RANK[mine]:
                offenders.append(f"{find_module(path)} must not import {name}")
    assert offenders == []


def test_relative_imports_stay_in_their_package():
    far = [str(path.relative_to(ROOT)) for path in FILES for node in ast.walk(ast.parse(path.read_text()))
           if isinstance(node, ast.ImportFrom) and node.level > 1]
    assert far == []


def test_screens_see_results_and_measures_only():
    offenders = []
    for path in FILES:
        mine, names = find_home(find_module(path)), list(list_imports(ast.parse(path.read_text())))
        tops = {name.partition(".")[0] for name in names}
        seen = {find_home(name) for name in names if name.partition(".")[0] in ("sim", "plots")} - {mine}
        if (mine in SCREENS and not seen <= SHOWN or mine != "sim.cli" and "click" in tops
                or mine != "plots" and "matplotlib" in tops):
            offenders.append(find_module(path))
    assert offenders == []


@pytest.mark.parametrize("text, found", [
    ("import sim.cli", ["sim.cli"]),
    ("def f():\n    from sim.engines import waveform", ["sim.engines.waveform"]),
    ("from sim import constants", ["sim.constants"]),
    ("from . import near", []),
])
def test_imports_are_seen_wherever_they_stand(text, found):
    assert list(list_imports(ast.parse(text))) == found
