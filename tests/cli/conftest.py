"""A case file, a command to call and an engine that answers at once."""

import json

import pytest
from click.testing import CliRunner
from factories import CASE_TEXT, make_result, make_run

from sim.cli import main
from sim.errors import SolveError
from sim.store.write import write_run


@pytest.fixture
def case_file(tmp_path):
    path = tmp_path / "quillfen.toml"
    path.write_text(CASE_TEXT)
    return path


@pytest.fixture
def call():
    """Call the command; gives its result.  Nothing but an exit may be raised."""

    def call(*arguments):
        done = CliRunner().invoke(main, [str(argument) for argument in arguments])
        assert done.exception is None or isinstance(done.exception, SystemExit), done.exception
        assert "Traceback" not in done.stderr
        return done

    return call


@pytest.fixture
def call_json(call):
    """Call the command with --json; gives exit code and the object, which must be all there is on stdout."""

    def call_json(*arguments):
        done = call(*arguments, "--json")

        def refuse(constant):
            raise AssertionError(f"{constant} is not JSON")

        return done.exit_code, json.loads(done.stdout, parse_constant=refuse)

    return call_json


@pytest.fixture
def engine(monkeypatch):
    """An engine that gives the synthetic run; calls are noted."""
    calls = []

    def simulate(case, engine=None, progress=None):
        calls.append((case, engine, progress))
        return make_result(case)

    monkeypatch.setattr("sim.studies.run.simulate", simulate)
    return calls


@pytest.fixture
def break_engine(monkeypatch):
    """Make the engine stop half-way, with what it has computed so far."""

    def break_engine(error=None, partial=True):
        def simulate(case, engine=None, progress=None):
            stop = error or SolveError("booster", 0.7, "the step became too small; reduce tolerance_pu")
            if partial:
                stop.partial = make_result(case, failure=str(stop) or "interrupted")
            raise stop

        monkeypatch.setattr("sim.studies.run.simulate", simulate)

    return break_engine


@pytest.fixture
def run_file(tmp_path):
    """Write a run; overrides of the case and changes of the result as in `factories`."""
    def run_file(name, *overrides, **changes):
        write_run(tmp_path / name, *make_run(*overrides, **changes))
        return tmp_path / name

    return run_file
