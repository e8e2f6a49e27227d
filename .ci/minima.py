"""Print the lowest versions that pyproject.toml declares, one requirement a line: "numpy>=1.26" as "numpy==1.26.*"."""

import re
import tomllib
from pathlib import Path

project = tomllib.loads((Path(__file__).parents[1] / "pyproject.toml").read_text())["project"]
LINTERS = {"ruff", "mypy"}          # look at the sources, whatever version the project runs on

for requirement in [*project["dependencies"], *project["optional-dependencies"]["test"]]:
    name, extras, version = re.fullmatch(r"([\w.-]+)(\[\w+\])?>=([\d.]+)", requirement).groups()
    if name not in LINTERS:
        parts = (version.split(".") + ["0"])[:2] if "." not in version else version.split(".")
        print(f"{name}{extras or ''}=={'.'.join(parts)}.*")
