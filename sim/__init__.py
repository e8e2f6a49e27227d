"""Time-domain simulation of motor start-up on long subsea feeders.

The public names load on first use, so that ``import sim`` stays light.
"""

from importlib import import_module

PUBLIC = {
    "load_case": ("sim.case", "load_case"),
    "parse_case": ("sim.case", "parse_case"),
    "run": ("sim.studies.run", "run"),
    "open_run": ("sim.store.read", "open_run"),
    "compare": ("sim.store.compare", "compare_runs"),
}

__all__ = list(PUBLIC)


def __getattr__(name: str) -> object:
    if name not in PUBLIC:
        raise AttributeError(f"module 'sim' has no attribute {name!r}")
    module, attribute = PUBLIC[name]
    return getattr(import_module(module), attribute)


def __dir__() -> list[str]:
    return sorted([*globals(), *PUBLIC])
