"""The command as a whole: help without loading, one error policy."""

import errno
import subprocess
import sys

import pytest

from sim.cli.group import COMMANDS

HEAVY = ("numpy", "h5py", "scipy", "numba", "matplotlib", "pydantic")
LOAD_HELP = f"""
import sys
from click.testing import CliRunner
from sim.cli import main
done = CliRunner().invoke(main, ["--help"])
assert done.exit_code == 0, done.output
loaded = [name for name in {HEAVY} if name in sys.modules]
loaded += [name for name in {tuple(COMMANDS)} if "sim.cli." + name in sys.modules]
print(loaded)
"""


def test_help_loads_no_subcommand_and_nothing_heavy():
    done = subprocess.run([sys.executable, "-c", LOAD_HELP], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


def test_help_lists_every_command(call):
    done = call("--help")
    assert done.exit_code == 0 and all(f"  {name} " in done.stdout for name in COMMANDS)


@pytest.mark.parametrize("name", COMMANDS)
def test_every_command_explains_itself(call, name):
    done = call(name, "--help")
    assert done.exit_code == 0 and done.stdout.startswith(f"Usage: stepout {name}")


def test_unknown_command(call):
    done = call("simulate")
    assert done.exit_code == 2 and "simulate" in done.stderr


def test_version(call):
    assert call("--version").stdout.startswith("stepout")


def test_an_override_that_is_no_text(call, case_file):
    done = call("check", case_file, "--set", "title=\udcff")
    assert done.exit_code == 2 and "UTF-8" in done.stderr


def test_stdout_that_takes_nothing(call, case_file, monkeypatch):
    def refuse(text):
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr("sim.cli.commands.check.click.echo", lambda text, err=False: None if err else refuse(text))
    assert call("check", case_file).exit_code == 1


def test_text_that_the_terminal_cannot_show_is_escaped(tmp_path):
    """A title beyond the character set of the terminal: escaped, not an error."""
    from factories import CASE_TEXT

    (tmp_path / "case.toml").write_text(CASE_TEXT.replace("Quillfen", "Blå 起動"), encoding="utf-8")
    program = f"from sim.cli import main; main(['check', {str(tmp_path / 'case.toml')!r}])"
    done = subprocess.run([sys.executable, "-c", program], capture_output=True,
                          encoding="latin-1", env={"PYTHONIOENCODING": "latin-1", "PATH": ""})
    assert done.returncode == 0 and done.stdout.startswith("Blå \\u8d77\\u52d5: direct"), done.stderr
