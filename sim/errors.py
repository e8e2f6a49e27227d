"""What can go wrong, each kind with the exit code of the command and a hint what to do next."""

from typing import Any


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

    def __init__(self, message: str, hint: str | None = None) -> None:
        super().__init__(message)
        if hint is not None:
            self.hint = hint


class CaseError(StepoutError):
    """A case that cannot be simulated; `mistakes` lists everything that is wrong with it, a sentence each."""

    exit_code = 2
    hint = "Correct the case file or the overrides and check again."

    def __init__(self, mistakes: list[str]) -> None:
        self.mistakes = list(mistakes)
        head = "1 mistake in the case" if len(self.mistakes) == 1 else f"{len(self.mistakes)} mistakes in the case"
        super().__init__("\n".join([head, *(f"  {mistake}" for mistake in self.mistakes)]))

    def __reduce__(self) -> tuple[Any, ...]:
        return type(self), (self.mistakes,), self.__dict__


class SolveError(StepoutError):
    """The solution could not be carried on: which component, when [s], and what to change."""

    def __init__(self, component: str, time_s: float, remedy: str) -> None:
        self.component, self.time_s, self.remedy = component, time_s, remedy
        super().__init__(f"{component} at t = {time_s:g} s: {remedy}")

    def __reduce__(self) -> tuple[Any, ...]:
        return type(self), (self.component, self.time_s, self.remedy), self.__dict__


class StoreError(StepoutError):
    """A run file that cannot be written or read."""
