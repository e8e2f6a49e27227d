"""Highest voltages for equipment: the steps in which switchgear and cables are built.

Source
------
IEC 60071-1, tables of standard insulation levels of ranges I and II, and IEC 60502-2 for 1.2 to 36 kV (from memory, to
be checked).
"""

CLASSES_KV = (1.2, 3.6, 7.2, 12.0, 17.5, 24.0, 36.0, 52.0, 72.5, 123.0, 145.0, 170.0, 245.0, 300.0, 362.0, 420.0, 550.0,
              800.0)


def find_class(voltage_kv: float) -> float:
    """The class at or next above a line-to-line voltage [kV]; beyond the last one the voltage itself. [kV]"""
    return next((step for step in CLASSES_KV if step >= voltage_kv), voltage_kv)
