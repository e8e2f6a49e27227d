"""The [[event]] table: what is ordered at a moment of the run."""

from typing import Literal

from sim.components.fields import Name, Table, quantity, setting

TARGETS = {"close": "breaker", "open": "breaker", "start": "drive", "stop": "drive", "ramp_down": "drive",
           "speed": "drive", "load": "machine"}
EXTRAS = {"speed": "to_hz", "load": "load_pct"}


class Event(Table):
    """An order to a breaker, a drive or a machine."""

    at_s: float = quantity("time of the event", least=0, most=36000)
    action: Literal["close", "open", "start", "stop", "ramp_down", "speed", "load"] = setting("action of the event")
    target: Name = setting("name of the breaker, drive or machine the event acts on")
    to_hz: float | None = quantity("frequency a drive is sent to", least=0.05, most=400, default=None)
    load_pct: float | None = quantity("new multiplier of the load torque", least=0, most=300, default=None)
