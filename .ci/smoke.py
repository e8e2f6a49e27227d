"""A short look at everything: every module is imported, one case is run, stored, drawn and read back."""

import importlib
import json
import pkgutil
import sys
import tempfile
from pathlib import Path

from click.testing import CliRunner

ROOT = Path(__file__).parents[1]
CASE = ROOT / "cases" / "switching" / "fault_two_phase.toml"


def import_all():
    for package in ("sim", "plots"):
        for module in pkgutil.walk_packages([str(ROOT / package)], f"{package}."):
            importlib.import_module(module.name)


def run_case(folder):
    from sim.cli import main
    from sim.store.read import open_run

    asked = ["run", CASE, "--out", folder / "run.h5", "--plots", folder / "plots", "--json"]
    done = CliRunner().invoke(main, [str(part) for part in asked])
    if done.exit_code > 1:
        sys.exit(f"exit code {done.exit_code}: {done.output}")
    told, stored = json.loads(done.stdout), open_run(folder / "run.h5")
    assert stored.case_text == CASE.read_text()
    assert stored.summary["verdict"] == told["verdict"]
    assert sum(len(stretch.t) for stretch in stored.stretches) > 1000
    assert list((folder / "plots").iterdir())


import_all()
with tempfile.TemporaryDirectory() as folder:
    run_case(Path(folder))
print("every module imported; one case run, stored, drawn and read back")
