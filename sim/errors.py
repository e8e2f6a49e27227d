"""What can go wrong, each kind with the exit code of the command and a hint what to do next."""


class StepoutError(Exception):
    """Root of all errors this package raises on purpose.

    Attributes
    ----------
    exit_code : int
        Exit code of the command: 1 solver or store, 2 case or usage.
    hint : str or None
        What to do next, one sentence.
    """

    exit_code = 1
    hint: str | None = None

    def __init__(self, message: str, hint: str | None = None):
        super().__init__(message)
        if hint is not None:
            self.hint = hint


class CaseError(StepoutError):
    """A case that cannot be simulated; `faults` lists everything that is wrong with it, a sentence each."""

    exit_code = 2
    hint = "Correct the case file or the overrides and check again."

    def __init__(self, faults: list[str]):
        self.faults = list(faults)
        head = "1 fault in the case" if len(self.faults) == 1 else f"{len(self.faults)} faults in the case"
        super().__init__("\n".join([head, *(f"  {fault}" for fault in self.faults)]))

    def __reduce__(self):
        return type(self), (self.faults,), self.__dict__


class SolveError(StepoutError):
    """The solution could not be carried on: which component, when [s], and what to change."""

    def __init__(self, component: str, time_s: float, remedy: str):
        self.component, self.time_s, self.remedy = component, time_s, remedy
        super().__init__(f"{component} at t = {time_s:g} s: {remedy}")

    def __reduce__(self):
        return type(self), (self.component, self.time_s, self.remedy), self.__dict__


class StoreError(StepoutError):
    """A run file that cannot be written or read."""
