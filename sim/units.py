"""Units in the names of case-file keys, and their conversion to SI in one place.

A key of the case file ends in its unit; the same key in SI ends in the SI unit.  Keys without a unit
(names, flags, counts, plain ratios) pass unchanged.
"""

from math import pi
from typing import TYPE_CHECKING, Any, NamedTuple


class Unit(NamedTuple):
    """Suffix in SI, factor to SI as times/over, and the symbols of the unit in the file and in SI."""

    si_suffix: str
    times: float
    over: float
    symbol: str
    si_symbol: str


FOOT, POUND, GRAVITY = 0.3048, 0.45359237, 9.80665     # m, kg, m/s2: international definitions, exact
HORSEPOWER = 550.0 * FOOT * POUND * GRAVITY             # 550 foot pounds-force a second, NIST SP 811, B.8 [W]

# name in a key: times and over to SI, SI name, symbol, SI symbol
LENGTHS = {
    "m": (1.0, 1.0, "m"), "km": (1e3, 1.0, "km"), "mm": (1.0, 1e3, "mm"), "nmi": (1852.0, 1.0, "nmi"),
    "mi": (1609344.0, 1e3, "mi"), "ft": (3048.0, 1e4, "ft"), "kft": (3048.0, 1e1, "kft"), "in": (254.0, 1e4, "in"),
}
PER_LENGTH = {
    "ohm": (1.0, 1.0, "ohm"), "mohm": (1.0, 1e3, "mohm"), "uohm": (1.0, 1e6, "uohm"),
    "h": (1.0, 1.0, "H"), "mh": (1.0, 1e3, "mH"), "uh": (1.0, 1e6, "uH"), "nh": (1.0, 1e9, "nH"),
    "f": (1.0, 1.0, "F"), "uf": (1.0, 1e6, "uF"), "nf": (1.0, 1e9, "nF"), "pf": (1.0, 1e12, "pF"),
    "s": (1.0, 1.0, "S"), "us": (1.0, 1e6, "uS"), "ns": (1.0, 1e9, "nS"),
}
SI_PER_LENGTH = {"ohm": ("ohm", "ohm"), "h": ("h", "H"), "f": ("f", "F"), "s": ("s", "S")}


def list_per_length() -> dict[str, Unit]:
    """Units per length: of resistance, inductance, capacitance and conductance, for all lengths of cables."""
    found = {}
    for name, (times, over, symbol) in PER_LENGTH.items():
        suffix, si_symbol = next(si for end, si in SI_PER_LENGTH.items() if name.endswith(end))
        for length in ("m", "km", "nmi", "mi", "ft", "kft"):
            up, down, length_symbol = LENGTHS[length]
            found[f"{name}_per_{length}"] = Unit(f"{suffix}_per_m", times * down, over * up,
                                                 f"{symbol}/{length_symbol}", f"{si_symbol}/m")
    return found


SUFFIXES = {
    **{name: Unit("m", times, over, symbol, "m") for name, (times, over, symbol) in LENGTHS.items()},
    **list_per_length(),
    "m2": Unit("m2", 1, 1, "m2", "m2"),
    "mm2": Unit("m2", 1, 1e6, "mm2", "m2"),
    "kcmil": Unit("m2", pi * 254.0**2, 4e11, "kcmil", "m2"),       # 1000 circles of one thousandth of an inch
    "v": Unit("v", 1, 1, "V", "V"),
    "kv": Unit("v", 1e3, 1, "kV", "V"),
    "a": Unit("a", 1, 1, "A", "A"),
    "ka": Unit("a", 1e3, 1, "kA", "A"),
    "ma": Unit("a", 1, 1e3, "mA", "A"),
    "v_per_s": Unit("v_per_s", 1, 1, "V/s", "V/s"),
    "kv_per_ms": Unit("v_per_s", 1e6, 1, "kV/ms", "V/s"),
    "kv_per_us": Unit("v_per_s", 1e9, 1, "kV/us", "V/s"),
    "a_per_s": Unit("a_per_s", 1, 1, "A/s", "A/s"),
    "a_per_ms": Unit("a_per_s", 1e3, 1, "A/ms", "A/s"),
    "a_per_us": Unit("a_per_s", 1e6, 1, "A/us", "A/s"),
    "w": Unit("w", 1, 1, "W", "W"),
    "kw": Unit("w", 1e3, 1, "kW", "W"),
    "mw": Unit("w", 1e6, 1, "MW", "W"),
    "hp": Unit("w", HORSEPOWER, 1, "hp", "W"),
    "j": Unit("j", 1, 1, "J", "J"),
    "kj": Unit("j", 1e3, 1, "kJ", "J"),
    "j_per_v": Unit("j_per_v", 1, 1, "J/V", "J/V"),
    "kj_per_kv": Unit("j_per_v", 1, 1, "kJ/kV", "J/V"),
    "va": Unit("va", 1, 1, "VA", "VA"),
    "kva": Unit("va", 1e3, 1, "kVA", "VA"),
    "mva": Unit("va", 1e6, 1, "MVA", "VA"),
    "var": Unit("var", 1, 1, "var", "var"),
    "kvar": Unit("var", 1e3, 1, "kvar", "var"),
    "mvar": Unit("var", 1e6, 1, "Mvar", "var"),
    "pct": Unit("pu", 1, 1e2, "%", "pu"),
    "pu": Unit("pu", 1, 1, "pu", "pu"),
    "s": Unit("s", 1, 1, "s", "s"),
    "ms": Unit("s", 1, 1e3, "ms", "s"),
    "us": Unit("s", 1, 1e6, "us", "s"),
    "hz": Unit("hz", 1, 1, "Hz", "Hz"),
    "khz": Unit("hz", 1e3, 1, "kHz", "Hz"),
    "hz_per_s": Unit("hz_per_s", 1, 1, "Hz/s", "Hz/s"),
    "hz_per_min": Unit("hz_per_s", 1, 60, "Hz/min", "Hz/s"),
    "h": Unit("h", 1, 1, "H", "H"),
    "mh": Unit("h", 1, 1e3, "mH", "H"),
    "uh": Unit("h", 1, 1e6, "uH", "H"),
    "f": Unit("f", 1, 1, "F", "F"),
    "uf": Unit("f", 1, 1e6, "uF", "F"),
    "nf": Unit("f", 1, 1e9, "nF", "F"),
    "pf": Unit("f", 1, 1e12, "pF", "F"),
    "ohm": Unit("ohm", 1, 1, "ohm", "ohm"),
    "kohm": Unit("ohm", 1e3, 1, "kohm", "ohm"),
    "mohm": Unit("ohm", 1, 1e3, "mohm", "ohm"),
    "uohm": Unit("ohm", 1, 1e6, "uohm", "ohm"),
    "rpm": Unit("rad_per_s", pi, 30, "rpm", "rad/s"),
    "rad_per_s": Unit("rad_per_s", 1, 1, "rad/s", "rad/s"),
    "deg": Unit("rad", pi, 180, "deg", "rad"),
    "rad": Unit("rad", 1, 1, "rad", "rad"),
    "degc": Unit("degc", 1, 1, "degC", "degC"),         # the zero stays that of the Celsius scale
    "kgm2": Unit("kgm2", 1, 1, "kg m2", "kg m2"),
    "gd2_kgm2": Unit("kgm2", 1, 4, "kg m2 of GD2", "kg m2"),                       # G D^2 = 4 J: D is a diameter
    "lbft2": Unit("kgm2", POUND * FOOT**2, 1, "lb ft2", "kg m2"),
    "wk2_lbft2": Unit("kgm2", POUND * FOOT**2, 1, "lb ft2 of Wk2", "kg m2"),       # W k^2 = J: k is a radius
    "nm": Unit("nm", 1, 1, "N m", "N m"),
    "knm": Unit("nm", 1e3, 1, "kN m", "N m"),
    "lbft": Unit("nm", FOOT * POUND * GRAVITY, 1, "lbf ft", "N m"),
    "nm_per_rad": Unit("nm_per_rad", 1, 1, "N m/rad", "N m/rad"),
    "knm_per_rad": Unit("nm_per_rad", 1e3, 1, "kN m/rad", "N m/rad"),
    "nms_per_rad": Unit("nms_per_rad", 1, 1, "N m s/rad", "N m s/rad"),
    "knms_per_rad": Unit("nms_per_rad", 1e3, 1, "kN m s/rad", "N m s/rad"),
    "pct_of_withstand": Unit("pu_of_withstand", 1, 1e2, "%", "pu"),
    "pu_of_withstand": Unit("pu_of_withstand", 1, 1, "pu", "pu"),
}


class Record:
    """Values of one component in SI, read as attributes and fixed once made."""

    def __init__(self, **values: Any):
        self.__dict__.update(values)

    if TYPE_CHECKING:
        def __getattr__(self, name: str) -> Any: ...

    def __setattr__(self, name: str, value: Any) -> None:
        raise AttributeError(f"a record is fixed: {name} cannot be set")

    def __delattr__(self, name: str) -> None:
        raise AttributeError(f"a record is fixed: {name} cannot be removed")

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Record) and vars(self) == vars(other)

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


def change_unit(value: Any, given: str, wanted: str) -> Any:
    """Value of one key as that of another key of the same kind; what is no number passes unchanged."""
    if isinstance(value, list):
        return [change_unit(item, given, wanted) for item in value]
    if isinstance(value, bool) or not isinstance(value, (int, float)):
        return value
    one, other = split_key(given)[1], split_key(wanted)[1]
    if one is None or other is None:
        return value
    try:
        return float(value) * (one.times * other.over) / (one.over * other.times)
    except OverflowError:
        return value


def list_suffixes(kind: str) -> list[str]:
    """Suffixes of all units of one kind, named by its SI suffix: "w" gives w, kw, mw and hp."""
    return [suffix for suffix, unit in SUFFIXES.items() if unit.si_suffix == kind]


def convert(values: dict[str, Any]) -> Record:
    """Record in SI of a table of the case file; tables within become records within."""
    return Record(**{rename_key(key): convert(value) if isinstance(value, dict) else to_si(key, value)
                     for key, value in values.items()})
