"""Highest voltages for equipment: the steps in which switchgear and cables are built.

Source
------
IEC 60071-1, tables of standard insulation levels of ranges I and II, and IEC 60502-2 for 1.2 to 36 kV (from memory, to
be checked).
"""

CLASSES_KV = (1.2, 3.6, 7.2, 12.0, 17.5, 24.0, 36.0, 52.0, 72.5, 123.0, 145.0, 170.0, 245.0, 300.0, 362.0, 420.0, 550.0,
              800.0)

# Highest voltage for equipment [kV] -> lowest standard rated lightning impulse withstand voltage [kV peak].
# IEC 60071-1, table of standard insulation levels in range I (from memory, to be checked).
LIGHTNING_WITHSTAND_KV = {3.6: 20.0, 7.2: 40.0, 12.0: 60.0, 17.5: 75.0, 24.0: 95.0, 36.0: 145.0, 52.0: 250.0,
                          72.5: 325.0, 100.0: 450.0, 123.0: 450.0, 145.0: 450.0}


def find_class(voltage_kv: float) -> float:
    """The class at or next above a line-to-line voltage [kV]; beyond the last one the voltage itself. [kV]"""
    return next((step for step in CLASSES_KV if step >= voltage_kv), voltage_kv)


def find_impulse_level(um_kv: float) -> tuple[float, float] | None:
    """Class at or below a highest voltage for equipment [kV] and its lowest lightning impulse withstand [kV peak]; None
    outside 3.6 to 145 kV."""
    classes = [um for um in LIGHTNING_WITHSTAND_KV if um <= um_kv * (1.0 + 1e-9)]
    if not classes or um_kv > 145.0 * (1.0 + 1e-9):
        return None
    return classes[-1], LIGHTNING_WITHSTAND_KV[classes[-1]]
