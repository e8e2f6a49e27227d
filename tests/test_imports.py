"""What comes along with an import: `import sim` is light, the case layer needs no engine."""

import json
import subprocess
import sys
from pathlib import Path

import pytest

HEAVY = {"matplotlib", "h5py", "numba", "scipy", "numpy", "pydantic"}
PRINT_MODULES = "import sys, json; print(json.dumps(list(sys.modules)))"


def list_loaded(statement):
    """Top-level packages loaded after a statement in a fresh interpreter."""
    code = f"{statement}; {PRINT_MODULES}"
    ran = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    return {name.partition(".")[0] for name in json.loads(ran.stdout)}


def test_import_sim_is_light():
    assert list_loaded("import sim") & HEAVY == set()


def test_public_names_are_listed_without_loading_them():
    assert list_loaded("import sim; assert {'load_case', 'run', 'compare'} <= set(dir(sim))") & HEAVY == set()


def test_case_layer_needs_neither_engine_nor_store_nor_plots():
    assert list_loaded("import sim; sim.load_case") & HEAVY == {"pydantic"}


def test_scan_needs_no_compiler_and_draws_and_stores_only_when_asked():
    case = Path(__file__).parents[1] / "cases" / "umbrafold.toml"
    scan = ("from click.testing import CliRunner; from sim.cli import main; "
            f"assert CliRunner().invoke(main, ['scan', {str(case)!r}]).exit_code == 0")
    assert list_loaded(scan) & HEAVY == {"numpy", "scipy", "pydantic"}


def test_unknown_public_name_is_an_attribute_error():
    import sim

    with pytest.raises(AttributeError, match="no attribute 'simulate'"):
        sim.simulate


def test_parse_case_is_the_one_of_the_case_layer():
    import sim
    from sim.case import parse_case

    assert sim.parse_case is parse_case
