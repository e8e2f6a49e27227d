"""The [study] table: how long and how finely a case is simulated."""

from typing import Annotated, Literal

from pydantic import Field

from sim.components.fields import Table, quantity, setting

Span = Annotated[list[Annotated[float, Field(ge=0, le=36000)]], Field(min_length=2, max_length=2)]
Spans = Annotated[list[Span], Field(max_length=20)]


class Study(Table):
    """Settings of the simulation itself."""

    duration_s: float = quantity("simulated time", least=1e-3, most=36000)
    bandwidth_khz: float | None = quantity(
        "highest frequency the result should hold, the same for everything", least=0.1, most=500, default=None,
        basis="as high as the switching of the network asks for, 5 to 200 kHz, each cable by what stands at its ends")
    cable_error_pu: float = quantity("error allowed to a cable's voltage transfer within the bandwidth",
                                     least=1e-9, most=0.05, default=1e-4, basis="setting of the solver")
    tolerance_pu: float = quantity("local error allowed per step of the envelope engine", least=1e-9,
                                   most=0.01, default=1e-4, basis="setting of the solver")
    waveform_step_us: float | None = quantity("step of the waveform engine", least=0.01, most=1000,
                                              default=None, basis="derived from the bandwidth")
    detail_s: Spans = setting("spans of time to be simulated in phases and pulses, each from and to", [],
                              "none but what switching asks for")
    engine: Literal["auto", "envelope", "waveform"] = setting("engine: auto hands over between both", "auto",
                                                              "each engine where it is valid")
