"""Units in the names of case-file keys, and their conversion to SI in one place.

A key of the case file ends in its unit; the same key in SI ends in the SI unit.  Keys without a unit
(names, flags, counts, plain ratios) pass unchanged.
"""

from math import pi
from typing import Any, NamedTuple


class Unit(NamedTuple):
    """Suffix in SI, factor to SI as times/over, and the symbols of the unit in the file and in SI."""

    si_suffix: str
    times: float
    over: float
    symbol: str
    si_symbol: str


SUFFIXES = {
    "km": Unit("m", 1e3, 1, "km", "m"),
    "kv": Unit("v", 1e3, 1, "kV", "V"),
    "kw": Unit("w", 1e3, 1, "kW", "W"),
    "mw": Unit("w", 1e6, 1, "MW", "W"),
    "kva": Unit("va", 1e3, 1, "kVA", "VA"),
    "mva": Unit("va", 1e6, 1, "MVA", "VA"),
    "mvar": Unit("var", 1e6, 1, "Mvar", "var"),
    "pct": Unit("pu", 1, 1e2, "%", "pu"),
    "pu": Unit("pu", 1, 1, "pu", "pu"),
    "s": Unit("s", 1, 1, "s", "s"),
    "ms": Unit("s", 1, 1e3, "ms", "s"),
    "us": Unit("s", 1, 1e6, "us", "s"),
    "hz": Unit("hz", 1, 1, "Hz", "Hz"),
    "khz": Unit("hz", 1e3, 1, "kHz", "Hz"),
    "hz_per_s": Unit("hz_per_s", 1, 1, "Hz/s", "Hz/s"),
    "mh": Unit("h", 1, 1e3, "mH", "H"),
    "uf": Unit("f", 1, 1e6, "uF", "F"),
    "nf": Unit("f", 1, 1e9, "nF", "F"),
    "ohm": Unit("ohm", 1, 1, "ohm", "ohm"),
    "uohm": Unit("ohm", 1, 1e6, "uohm", "ohm"),
    "a": Unit("a", 1, 1, "A", "A"),
    "ohm_per_km": Unit("ohm_per_m", 1, 1e3, "ohm/km", "ohm/m"),
    "mh_per_km": Unit("h_per_m", 1, 1e6, "mH/km", "H/m"),
    "uf_per_km": Unit("f_per_m", 1, 1e9, "uF/km", "F/m"),
    "nf_per_km": Unit("f_per_m", 1, 1e12, "nF/km", "F/m"),
    "us_per_km": Unit("s_per_m", 1, 1e9, "uS/km", "S/m"),
    "rpm": Unit("rad_per_s", pi, 30, "rpm", "rad/s"),
    "deg": Unit("rad", pi, 180, "deg", "rad"),
    "kgm2": Unit("kgm2", 1, 1, "kg m2", "kg m2"),
    "nm": Unit("nm", 1, 1, "N m", "N m"),
    "pct_of_withstand": Unit("pu_of_withstand", 1, 1e2, "%", "pu"),
}


class Record:
    """Values of one component in SI, read as attributes and fixed once made."""

    def __init__(self, **values: Any):
        self.__dict__.update(values)

    def __setattr__(self, name: str, value: Any):
        raise AttributeError(f"a record is fixed: {name} cannot be set")

    def __delattr__(self, name: str):
        raise AttributeError(f"a record is fixed: {name} cannot be removed")

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Record) and vars(self) == vars(other)

    __hash__ = None

    def __repr__(self) -> str:
        return f"Record({', '.join(f'{key}={value!r}' for key, value in vars(self).items())})"


def split_key(key: str) -> tuple[str, Unit | None]:
    """Stem and unit of a case-file key; the longest suffix wins, no suffix gives (key, None)."""
    parts = key.split("_")
    for k in range(1, len(parts)):
        unit = SUFFIXES.get("_".join(parts[k:]))
        if unit is not None:
            return "_".join(parts[:k]), unit
    return key, None


def find_symbol(key: str) -> str:
    """Symbol of the unit a case-file key is given in, empty when it has none."""
    unit = split_key(key)[1]
    return unit.symbol if unit else ""


def rename_key(key: str) -> str:
    """Name of a case-file key in SI: ``length_km`` becomes ``length_m``."""
    stem, unit = split_key(key)
    return f"{stem}_{unit.si_suffix}" if unit else key


def to_si(key: str, value: Any) -> Any:
    """Value of a case-file key in SI; text, flags, counts and absent values pass unchanged."""
    unit = split_key(key)[1]
    if isinstance(value, list):
        return [to_si(key, item) for item in value]
    if unit is None or value is None or isinstance(value, (bool, str)):
        return value
    return value * unit.times / unit.over


def convert(values: dict[str, Any]) -> Record:
    """Record in SI of a table of the case file; tables within become records within."""
    return Record(**{rename_key(key): convert(value) if isinstance(value, dict) else to_si(key, value)
                     for key, value in values.items()})
