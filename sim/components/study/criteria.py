"""The [criteria] table: limits the result is held against."""

from sim.components.fields import Table, quantity


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
        "longest time from first voltage to 95 % of final speed", least=0.01, most=36000, default=None,
        basis="no limit given: not assessed")
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
        "highest transformer flux while starting, of rated flux", least=0.5, most=5, default=None,
        basis="no limit given: not assessed")
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
