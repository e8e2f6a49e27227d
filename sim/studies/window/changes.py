"""A feeder with another drive, core, conductor or load, and the overrides of the case that make the same change."""

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import numpy as np

from sim.network.build import Network
from sim.network.cores import find_corner
from sim.phasors.reduction import Paths
from sim.studies.window.limits import OWN
from sim.studies.window.search import Feeder


def owner_of(path: str) -> str:
    """Transformer that a winding belongs to; empty of a machine's main path."""
    return path.rpartition(".")[0]


def change_limits(feeder: Feeder, **limits: Any) -> Feeder:
    """The feeder with other limits."""
    return feeder._replace(limits=feeder.limits._replace(**limits))


def change_current(feeder: Feeder, share: float) -> Feeder:
    """The feeder with a drive of another current limit, per unit of its rating."""
    return change_limits(feeder, current=share * feeder.limits.rated_current)


def ease_load(feeder: Feeder, share: float) -> Feeder:
    """The feeder whose machines ask for a share of the breakaway torque."""
    return change_limits(feeder, breakaway=share * feeder.limits.breakaway)


def raise_cores(feeder: Feeder, paths: Paths, cores: dict[str, float]) -> Feeder:
    """The feeder with cores good for a flux [pu] at least, knee and limit, by the transformer's name."""
    wanted = np.array([cores.get(owner_of(name), 0.0) for name in paths.names])
    rated = dict(zip(paths.names, wanted * paths.rated))
    names = [feeder.network.link_names[b].replace(".core_", ".") for b in feeder.network.tables.cores.link]
    least = np.array([rated.get(name, 0.0) for name in names])
    more = np.maximum(least / find_corner(feeder.network.tables.cores), 1.0)
    network = replace_cores(feeder.network, knee=lambda knee: knee * more[:, None])
    return change_limits(feeder, flux=np.maximum(feeder.limits.flux, wanted))._replace(network=network)


def straighten_cores(feeder: Feeder) -> Feeder:
    """The feeder with cores that never saturate."""
    return feeder._replace(network=replace_cores(feeder.network, excess=np.zeros_like))


def replace_cores(network: Network, **change: Callable[[np.ndarray], np.ndarray]) -> Network:
    """The network with other columns of its saturable cores, each made from the present one."""
    cores = network.tables.cores
    cores = cores._replace(**{key: make(getattr(cores, key)) for key, make in change.items()})
    return replace(network, tables=network.tables._replace(cores=cores))


def scale_cables(feeder: Feeder, share: float) -> Feeder:
    """The feeder with conductors of a share of their resistance; inductance and capacitance stay."""
    cables = feeder.network.tables.cables
    tables = feeder.network.tables._replace(cables=cables._replace(a=share * cables.a))
    return feeder._replace(network=replace(feeder.network, tables=tables))


def list_current_sets(feeder: Feeder, pct: float) -> list[str]:
    """Overrides of a current limit in per cent of rating: the drive's, and the criterion's where that is tighter."""
    keys = dict.fromkeys([f"{feeder.drive.name}.current_limit_pct", feeder.limits.current_basis])
    return [f"{key}={pct:g}" for key in keys]


def list_core_sets(feeder: Feeder, cores: dict[str, float]) -> list[str]:
    """Overrides of cores good for a flux [pu], by the transformer's name."""
    sets = [f"{name}.knee_pu={value:g}" for name, value in cores.items()]
    return sets + ([f"{OWN}={max(cores.values()):g}"] if OWN in feeder.limits.flux_basis else [])


def list_lines(case: Any, cable: Any, key: str) -> dict[str, float]:
    """What the case file gives under a key for a cable or for each of its sections, by the path of the value."""
    return {path: entry["value"] for path, entry in case.used.items()
            if path.startswith(f"{cable.name}.") and path.rpartition(".")[2] == key and entry["origin"] == "given"}


def list_cable_sets(case: Any, share: float) -> list[str]:
    """Overrides that give every cable a share of its resistance, as far as the case states a resistance."""
    return [f"{path}={share * value:.4g}" for cable in case.cables
            for path, value in list_lines(case, cable, "resistance_ohm_per_km").items()]


def list_conductors(case: Any, share: float) -> dict[str, float]:
    """Cross-sections of a share of the resistance where the case states cross-sections, by the path. [mm2]"""
    return {path: value / share for cable in case.cables
            for path, value in list_lines(case, cable, "conductor_mm2").items()}


def list_load_sets(case: Any, share: float) -> list[str]:
    """Overrides of the breakaway torque of pumps at a share of the present one."""
    keys = {machine.name: f"{machine.name}.load.breakaway_pct" for machine in case.machines
            if machine.load.kind == "pump"}
    return [f"{key}={share * case.used[key]['value']:.4g}" for key in keys.values() if key in case.used]
