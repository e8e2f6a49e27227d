"""The survey of a case as text: derived quantities of cables, transformers, machines, nodes and islands."""

from sim.report.tables import align, write_value

HEADINGS = {"cables": "Cables", "transformers": "Transformers", "machines": "Machines",
            "nodes": "Nodes, no load, all breakers closed", "islands": "Islands, by their source"}


def write_survey(survey: dict[str, dict[str, dict]]) -> list[list[str]]:
    """Blocks of lines, one for each group: quantities down, components across; empty groups are left out."""
    return [[f"{HEADINGS[group]} (derived)", *write_group(entries)] for group, entries in survey.items() if entries]


def write_group(entries: dict[str, dict], across: int = 3) -> list[str]:
    """Tables of at most so many components side by side."""
    names, lines = list(entries), []
    for first in range(0, len(names), across):
        here = names[first:first + across]
        keys = list(dict.fromkeys(key for name in here for key in entries[name]))
        rows = [[key, *(write_short(entries[name].get(key)) for name in here)] for key in keys]
        lines += align([["", *here]], rows, longest=60)
    return lines


def write_short(value: object) -> str:
    """Four digits are enough for a survey."""
    return f"{value:.4g}" if isinstance(value, float) else write_value(value)
