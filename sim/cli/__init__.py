"""The command `stepout`; one module per subcommand, loaded when it is called."""

from sim.cli.group import CommandGroup

main = CommandGroup(
    "stepout", help="Will the motor at the far end of the cable start?  Simulates motor start-up on long "
                    "subsea feeders in the time domain and gives a verdict.",
    epilog="Exit codes: 0 done, 1 the solver or the store failed, 2 bad case or bad usage, 3 the verdict "
           "failed and --strict was given, 130 interrupted.")

__all__ = ["main"]
