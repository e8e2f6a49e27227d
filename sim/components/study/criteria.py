"""The [criteria] table, limits the result is held against, and what is judged by each of them.

Every limit can be changed in the case file.  The defaults seed a project's own list; those marked "from memory" have to
be checked against the document before anyone relies on them.
"""

from typing import NamedTuple

from sim.components.fields import Table, find_basis, quantity

MARGINAL = "marginal_band_pct"
UNLIMITED = "no limit given: not assessed"
START, SWITCHING, RUNNING, WHOLE = "start", "switching", "running", "whole run"


class Criteria(Table):
    """Limits; a limit that is absent leaves its criterion unassessed."""

    motor_voltage_min_pct: float = quantity(
        "lowest voltage allowed at a motor started direct, of motor rating", least=0, most=100, default=80.0,
        basis="IEEE 3002.7 (formerly IEEE 399), voltage at the starting motor (from memory, to be checked)")
    bus_voltage_min_pct: float = quantity(
        "lowest voltage allowed at a bus while a motor starts, of nominal", least=0, most=100, default=85.0,
        basis="PIP ELCGL01 (2002) cl. 3.7.6")
    accelerating_torque_min_pct: float = quantity(
        "least accelerating torque, of rated torque", least=0, most=200, default=10.0,
        basis="API 541, accelerating torque at reduced voltage (from memory, to be checked)")
    breakaway_ratio_min: float = quantity("least ratio of torque available at standstill to breakaway torque",
                                          least=0, most=10, default=1.2, basis="common practice, 1.2 to 1.5")
    time_to_speed_max_s: float | None = quantity(
        "longest time from first voltage to 95 % of rated speed at the frequency asked", least=0.01, most=36000,
        default=None, basis=UNLIMITED)
    overvoltage_max_pct_of_withstand: float = quantity(
        "largest peak allowed, of lightning impulse withstand", least=0.01, most=200, default=85.0,
        basis="IEC 60071-2, safety factor 1.15 (from memory, to be checked)")
    temporary_overvoltage_max_pu: float = quantity(
        "highest one-cycle RMS voltage, of nominal", least=1, most=3, default=1.3,
        basis="common practice, a few seconds at most")
    flux_max_pu: float = quantity(
        "highest transformer flux at speed, of rated flux", least=0.5, most=3, default=1.1,
        basis="IEC 60076-1 and IEEE C57.12.00: 1.05 loaded, 1.10 unloaded (from memory, to be checked)")
    start_flux_max_pu: float | None = quantity(
        "highest transformer flux while starting, of rated flux", least=0.5, most=5, default=None, basis=UNLIMITED)
    drive_current_max_pct: float = quantity(
        "largest drive current over one rated cycle, of drive rating", least=0.01, most=400, default=110.0,
        basis="common practice: normal duty, 110 % for 60 s")
    cable_current_max_pct: float = quantity(
        "largest cable current at speed, of ampacity", least=0.01, most=300, default=100.0,
        basis="common practice; ampacity by IEC 60287")
    recovery_voltage_max_pct: float = quantity(
        "largest recovery voltage across a pole, of the peak of the standard envelope", least=0.01, most=1000,
        default=100.0, basis="IEC 62271-100 (from memory, to be checked)")
    recovery_rate_max_pct: float = quantity(
        "steepest rise of recovery voltage, of the standard rate", least=0.01, most=1000, default=100.0,
        basis="IEC 62271-100 (from memory, to be checked)")
    missing_zero_cycles_max: float = quantity(
        "longest time without a current zero in a closed pole, in cycles", least=0, most=1000, default=1.0,
        basis="common practice: an arc burns a cycle or two")
    capacitor_voltage_max_pct: float = quantity(
        "largest voltage across a series capacitor, of the level at which its overvoltage protection acts",
        least=0.01, most=1000, default=100.0, basis="IEC 60143-2 (from memory, to be checked)")
    arrester_energy_max_pct: float = quantity(
        "largest energy taken by an arrester, of its rating", least=0.01, most=1000, default=100.0,
        basis="IEC 60099-4, rated energy")
    chatter_max_steps: float = quantity("longest run of steps whose solution alternates", least=0, most=1e6,
                                        default=8.0, basis="numerical check")
    reignitions_max: float = quantity("largest number of reignitions of a pole", least=0, most=1e6, default=0.0,
                                      basis="common practice: each one is a steep front")
    energy_residual_max_pct: float = quantity(
        "largest share of the energy throughput the run may leave unaccounted for", least=1e-6, most=10,
        default=0.1, basis="energy conservation")
    marginal_band_pct: float = quantity("share of the margin below which a pass counts as marginal", least=0,
                                        most=100, default=10.0, basis="common practice")


DEFAULTS = {key: field.default for key, field in Criteria.model_fields.items()}


class Criterion(NamedTuple):
    """What is judged by a limit.

    Attributes
    ----------
    id : str
    quantity : str
        What is held against the limit.
    unit : str
        Of the quantity, with its base.
    key : str or None
        Limit of the [criteria] table; None where there is nothing to set.
    normal : float or None
        Value at which the whole margin is left; None where it is counted from the limit itself.
    scope : str
        What it protects: "start", "neighbours", "insulation", "equipment" or "result".
    phases : tuple of str
        Parts of a run it is meant for: "start", "switching", "running" or "whole run".
    words : str
        What it rests on where that is more than the basis of the limit.
    """

    id: str
    quantity: str
    unit: str
    key: str | None
    normal: float | None
    scope: str
    phases: tuple[str, ...]
    words: str = ""

    @property
    def default(self) -> float | None:
        """Limit without a word in the case file."""
        return DEFAULTS[self.key] if self.key else None

    @property
    def sense(self) -> str:
        """Whether the limit is a "min" or a "max", as its key says."""
        return "min" if self.key and "min" in self.key.split("_") else "max"

    @property
    def basis(self) -> str:
        """On whose word it is judged."""
        return self.words or (find_basis(Criteria, self.key) if self.key else "")


ROWS = (
    Criterion("motor_voltage", "lowest one-cycle RMS voltage at the motor while starting direct", "% of motor rating",
              "motor_voltage_min_pct", 100.0, "start", (START,)),
    Criterion("bus_voltage", "lowest one-cycle RMS voltage at a bus while starting, systems above 600 V",
              "% of nominal", "bus_voltage_min_pct", 100.0, "neighbours", (START,)),
    Criterion("accelerating_torque", "least accelerating torque from 5 % to 95 % of rated speed", "% of rated torque",
              "accelerating_torque_min_pct", None, "start", (START,)),
    Criterion("breakaway", "torque available at standstill over breakaway torque", "1", "breakaway_ratio_min", None,
              "start", (START,)),
    Criterion("time_to_speed", "time from first voltage to 95 % of rated speed at the frequency asked", "s",
              "time_to_speed_max_s", 0.0, "start", (START,), "common practice: 80 to 90 % of the hot safe-stall time; "
              "thermal limit curves as in IEEE 620 (from memory, to be checked)"),
    Criterion("transient_peak", "largest phase-to-earth or phase-to-phase peak", "% of lightning withstand",
              "overvoltage_max_pct_of_withstand", 0.0, "insulation", (WHOLE,),
              "IEC 60071-2, safety factor 1.15 (from memory, to be checked); withstand by IEC 60071-1"),
    Criterion("statistical_peak", "peak that 2 % of closings exceed, to earth or between phases",
              "% of lightning withstand", "overvoltage_max_pct_of_withstand", 0.0, "insulation", (SWITCHING,),
              "IEC 60071-2, 2 % value of the slow-front overvoltage, safety factor 1.15 (from memory, to be checked); "
              "withstand by IEC 60071-1"),
    Criterion("temporary_overvoltage", "highest one-cycle RMS voltage", "pu", "temporary_overvoltage_max_pu", 1.0,
              "insulation", (WHOLE,), "common practice, a few seconds at most; an arrester's own curve governs"),
    Criterion("flux_at_speed", "transformer flux at speed, one-cycle mean", "pu", "flux_max_pu", 1.0, "equipment",
              (RUNNING,), "IEC 60076-1 and IEEE C57.12.00: 1.05 at rated load, 1.10 at no load (from memory, to be "
              "checked)"),
    Criterion("flux_starting", "peak transformer flux below 90 % of rated frequency", "pu", "start_flux_max_pu", 1.0,
              "equipment", (START,), "the flux margin the transformer is ordered with"),
    Criterion("drive_current", "drive RMS current over one rated cycle", "% of drive rating", "drive_current_max_pct",
              0.0, "start", (WHOLE,), "common practice: normal duty 110 % for 60 s"),
    Criterion("cable_current", "cable current at speed, the higher end, charging included", "% of ampacity",
              "cable_current_max_pct", 0.0, "equipment", (RUNNING,)),
    Criterion("energy_residual", "energy the run cannot account for", "% of throughput", "energy_residual_max_pct",
              0.0, "result", (WHOLE,)),
    Criterion("recovery_voltage", "largest recovery voltage across a pole", "% of the standard envelope's peak",
              "recovery_voltage_max_pct", 0.0, "equipment", (SWITCHING,),
              "IEC 62271-100, terminal fault T100, class S1 (from memory, to be checked); a slow recovery after "
              "charging current has its own duty there"),
    Criterion("recovery_rate", "steepest rise of recovery voltage", "% of the standard rate", "recovery_rate_max_pct",
              0.0, "equipment", (SWITCHING,),
              "IEC 62271-100, terminal fault T100, class S1 (from memory, to be checked)"),
    Criterion("missing_zeros", "time without a current zero in a pole, beyond half a cycle", "cycles",
              "missing_zero_cycles_max", 0.0, "equipment", (SWITCHING,),
              "common practice: no longer than the breaker may wait for its zero"),
    Criterion("reignition", "re-ignitions of a breaker's poles", "1", "reignitions_max", 0.0, "insulation",
              (SWITCHING,), "common practice; IEC 60034-15 gives the withstand of a motor winding"),
    Criterion("opening_peak", "peak that 5 % of openings exceed, to earth or between phases",
              "% of lightning withstand", "overvoltage_max_pct_of_withstand", 0.0, "insulation", (SWITCHING,),
              "common practice: openings at many moments, for one says next to nothing; withstand by IEC 60071-1"),
    Criterion("capacitor_voltage", "largest voltage across a series capacitor", "% of protective level",
              "capacitor_voltage_max_pct", 0.0, "equipment", (WHOLE,),
              "IEC 60143-2 (from memory, to be checked); beyond it the protection acts, which is not simulated"),
    Criterion("arrester_energy", "energy of the arrester's most loaded phase", "% of rating",
              "arrester_energy_max_pct", 0.0, "equipment", (WHOLE,), "the arrester's own energy rating"),
    Criterion("chatter", "longest run of steps in which the solution alternates", "steps", "chatter_max_steps", 0.0,
              "result", (WHOLE,)),
    Criterion("thermal", "share of the hot thermal limit used by the start", "%", None, 0.0, "start", (START,),
              "common practice: at most 80 %; limit from the motor's thermal curve"),
)
CRITERIA = {row.id: row for row in ROWS}
