"""The [shots] table: closings of one breaker at random moments."""

from sim.components.fields import Name, Table, quantity, setting


class Shots(Table):
    """What is drawn at random for each closing: its moment, the poles' scatter, the charge left on cables."""

    breaker: Name = setting("name of the breaker that closes")
    at_s: float | None = quantity("time from which the order may fall", least=0, most=36000, default=None,
                                  basis="the first event that closes the breaker")
    seed: int = quantity("seed of the random numbers", least=0, most=2**32 - 1, default=1,
                         basis="free choice: one seed, one series")
    spread_ms: float | None = quantity("time within which the order falls anywhere", least=0, most=1e4, default=None,
                                       basis="one period of the rated frequency")
    observe_ms: float = quantity("time simulated after the last pole has closed", over=0, most=1e5, default=60.0,
                                 basis="three periods of 50 Hz")
    trapped_most_pu: float = quantity(
        "largest charge left on the cables of trapped_cables, either way, of the crest of nominal phase voltage",
        least=0, most=2, default=0.0, basis="the cables are discharged")
    trapped_cables: list[Name] = setting("names of the cables with a charge left", [], "none")
