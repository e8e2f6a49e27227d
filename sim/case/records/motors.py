"""Motors: the equivalent circuit as given, or fitted to the nameplate."""

from math import pi
from typing import Any

from sim.case.book.databook import Book
from sim.components.machines import motor
from sim.errors import CaseError
from sim.params.motor import no_load

# what grades a fitted circuit; the frequency is a setting of the network and does not
FITTED = ("rated_kw", "rated_kv", "poles", "rated_rpm", "efficiency_pu", "power_factor_pu",
          "locked_rotor_current_pct", "locked_rotor_torque_pct", "breakdown_torque_pct")
CURVE = (motor.NO_LOAD_VOLTAGE, *motor.NO_LOAD_CURRENTS)


def build_motor(path: str, table: motor.Motor, grade: str, needs_inertia: bool, book: Book) -> dict[str, Any]:
    """Nameplate with speed, torque and current; the circuit in ohm, given or fitted.

    The rotor's inertia is entered where the shaft's is not known as a whole.

    Raises
    ------
    CaseError
        When no circuit can be fitted to the nameplate, or no main path to the no-load curve.
    """
    given, curve = motor.has_circuit(table), motor.find_no_load_curve(table)
    unneeded = (*(motor.NAMEPLATE_ONLY if given else ()), *(() if needs_inertia else ("inertia_kgm2",)),
                *(CURVE if curve is None else (*motor.BEND, *motor.NO_LOAD_CURRENTS)))
    unused = tuple(name for name in unneeded if name not in table.model_fields_set)
    values = book.enter_table(path, table, grade, motor.find_defaults(table), skip=unused)
    speed = values.pop("rated_rpm")
    torque, current = motor.find_torque(table.rated_kw, speed), motor.find_rated_current(table)
    book.derive(f"{path}.rated_torque_nm", torque, "rated_kw and rated_rpm",
                [f"{path}.rated_kw", f"{path}.rated_rpm"])
    book.derive(f"{path}.rated_current_a", current, "rated_kw, rated_kv, efficiency_pu and power_factor_pu",
                [f"{path}.{key}" for key in ("rated_kw", "rated_kv", "efficiency_pu", "power_factor_pu")])
    found = enter_circuit(path, table, grade, book) if given else fit_circuit(path, table, values, speed, book)
    for name in (*motor.BEND, *CURVE):
        del values[name]
    bends = bend_once(table) if curve is None else bend_by_curve(path, table, found, curve, book)
    return {**values, "grade": grade, "rated_speed_rpm": speed, "rated_torque_nm": torque,
            "rated_current_a": current, **found, **bends}


def bend_once(table: motor.Motor) -> dict[str, Any]:
    """Main path of two straight lines: knees and what they add."""
    knees, added = no_load.bend_once(table.knee_pu, table.saturated_pct / 100.0)
    return {"knees_pu": list(knees), "added_pu": list(added), "no_load_curve": []}


def bend_by_curve(path: str, table: motor.Motor, found: dict[str, Any], curve: tuple[list[float], list[float]],
                  book: Book) -> dict[str, Any]:
    """Main path by the no-load curve; its magnetising reactance takes the place of one that the nameplate led to.

    Raises
    ------
    CaseError
        When no main path follows the curve.
    """
    from sim.params.motor.knees import find_main_path
    key = f"{path}.circuit.{motor.MAGNETISING}_ohm"
    is_stated = motor.MAGNETISING in motor.find_given_parts(table)
    before = found["circuit"]["magnetising_reactance_ohm"]
    stator = motor.find_stator(table, found["circuit"], found["outside_loss_w"])
    try:
        fit = find_main_path(*curve, stator, before if is_stated else None)
    except ValueError as error:
        raise CaseError([f"{path}.{motor.NO_LOAD_VOLTAGE}: {error}"]) from None
    behind = [f"circuit.stator_{part}_{unit}" for part in ("resistance", "reactance") for unit in ("ohm", "pu")]
    base = () if table.no_load_current_pct is None else ("rated_current_a",)
    sources = [f"{path}.{name}" for name in (*CURVE, *behind, *base) if f"{path}.{name}" in book.entries]
    if not is_stated:
        fitted = "" if motor.has_circuit(table) else f"; the nameplate alone leads to {before:.4g} ohm at rated load"
        book.derive(key, fit.path.reactance, f"straight part of the no-load curve{fitted}", sources)
    for name, values in (("knees_pu", fit.path.knees), ("added_pu", fit.path.added)):
        book.derive(f"{path}.{name}", list(values), "no-load curve behind stator resistance and leakage", sources)
    book.derive(f"{path}.no_load_error_pct", 100.0 * fit.error, "largest error of current over the points of the curve",
                sources)
    return {"circuit": {**found["circuit"], "magnetising_reactance_ohm": fit.path.reactance},
            "knees_pu": list(fit.path.knees), "added_pu": list(fit.path.added), "no_load_curve": list(zip(*curve))}


def enter_circuit(path: str, table: motor.Motor, grade: str, book: Book) -> dict[str, Any]:
    """The circuit of the case file; it holds all losses there are."""
    values = motor.find_circuit(table)
    for name in sorted(table.circuit.model_fields_set, key=list(motor.Circuit.model_fields).index):
        ohm = values[f"{name.rpartition('_')[0]}_ohm"]
        here = f"{path}.circuit.{name}"
        book.enter(here, getattr(table.circuit, name), "given", grade, book.find_place(here), (ohm, "ohm"))
    return {"circuit": values, "outside_loss_w": 0.0, "figures": ()}


def fit_circuit(path: str, table: motor.Motor, values: dict[str, Any], rpm: float, book: Book) -> dict[str, Any]:
    """The circuit that fits the nameplate best, with the error of each figure in the data book."""
    from sim.params.motor.fit import FitError, Nameplate, fit_motor
    try:
        fit = fit_motor(Nameplate(
            table.rated_kw * 1e3, table.rated_kv * 1e3, table.frequency_hz, values["poles"], rpm * pi / 30.0,
            values["efficiency_pu"], values["power_factor_pu"],
            share(values["locked_rotor_current_pct"]), share(values["locked_rotor_torque_pct"]),
            share(values["breakdown_torque_pct"]),
            motor.find_circuit(table)["stator_resistance_ohm"], values["locked_rotor_saturation_pu"]))
    except FitError as error:
        raise CaseError([f"{path}: {error}"]) from None
    errors = ", ".join(f"{figure.name} {abs(figure.error_pct):.2f} %" for figure in fit.figures)
    sources = [f"{path}.{key}" for key in FITTED if values.get(key, rpm) is not None]
    for name, ohm in fit.circuit._asdict().items():
        if ohm is not None:
            book.derive(f"{path}.circuit.{name}", ohm, "fitted to the nameplate", sources)
    book.derive(f"{path}.fit_error_pct", fit.worst_error_pct, f"worst of the nameplate's figures: {errors}", sources)
    book.derive(f"{path}.outside_loss_kw", fit.core_loss / 1e3,
                "losses of the nameplate that the circuit does not hold: iron, friction, stray", sources)
    return {"circuit": fit.circuit._asdict(), "outside_loss_w": fit.core_loss, "figures": fit.figures}


def share(pct: float | None) -> float | None:
    """Per cent to per unit, None where there is none."""
    return None if pct is None else pct / 100.0
