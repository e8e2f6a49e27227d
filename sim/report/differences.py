"""The comparison of runs as a text."""

from typing import Any

from sim.report.tables import align, fill, write_number, write_value

WIDEST_KEY = 48     # a longer key stands on a line of its own


def write_differences(differences: dict[str, Any]) -> str:
    """Tables of what differs; the last line sums it up.

    Parameters
    ----------
    differences : dict
        As made by ``sim.store.compare.compare_runs``.
    """
    runs = differences["runs"]
    labels = [run["label"] for run in runs]
    results = f"Results that differ by more than {differences['tolerance']:g}, biggest first"
    blocks = [["Runs", *(line for run in runs for line in write_run(run))],
              write_block("Inputs", differences["inputs"], labels, input_cells),
              write_block("Criteria", differences["criteria"], labels, criterion_cells),
              write_block(results, differences["results"], labels, result_cells), [conclude(differences)]]
    return "\n\n".join("\n".join(block) for block in blocks)


def write_run(run: dict[str, Any]) -> list[str]:
    """One run and its verdict."""
    flag = "" if run["complete"] else " (incomplete)"
    known = f"case {run['case']} ({str(run['case_sha256'])[:12]}), stepout {run['stepout_version']}"
    return [*fill(f"{run['label']}{flag}: {known}"), *fill(str(run["sentence"] or run["verdict"]), "    ")]


def write_block(heading: str, rows: list[dict], labels: list[str], cells: Any) -> list[str]:
    """A table with a column per run."""
    if not rows:
        return [heading, "  no differences"]
    body = [cells(row) for row in rows]
    extra = [""] * (len(body[0]) - 1 - len(labels))
    return [heading, *align([["", *labels, *extra]], body, longest=WIDEST_KEY)]


def input_cells(row: dict[str, Any]) -> list[str]:
    """Key with its values; a key that a run does not have is shown as absent."""
    values = ["absent" if origin is None else "none" if value is None else write_value(value)
              for value, origin in zip(row["values"], row["origins"])]
    return [row["key"], *values, row["unit"] or ""]


def criterion_cells(row: dict[str, Any]) -> list[str]:
    """Level, value and limit by run."""
    cells = [f"{level or 'absent'} {write_number(value, '.4g')} of {write_number(limit, '.4g')}"
             for level, value, limit in zip(row["levels"], row["values"], row["limits"])]
    return [f"{row['id']} {row['where']}", *cells, row["unit"] or ""]


def result_cells(row: dict[str, Any]) -> list[str]:
    """Values by run and the largest relative difference."""
    shares = [share for share in row["relative"] if share is not None]
    largest = f"{write_number(100.0 * max(shares), '.2g')} %" if len(shares) == len(row["relative"]) else ""
    return [row["key"], *map(write_value, row["values"]), largest]


def conclude(differences: dict[str, Any]) -> str:
    """The comparison in one sentence."""
    first, *others = (run["verdict"] for run in differences["runs"])
    same = all(verdict == first for verdict in others)
    verdict = f"same verdict ({first})" if same else "verdicts differ: " + ", ".join(
        f"{run['label']} {run['verdict']}" for run in differences["runs"])
    return (f"{verdict}; {len(differences['inputs'])} inputs, {len(differences['results'])} results and "
            f"{len(differences['criteria'])} criteria differ")
