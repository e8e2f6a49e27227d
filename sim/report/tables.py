"""Plain-text tables of aligned columns."""

from collections.abc import Sequence
from textwrap import wrap

WIDTH = 100
INDENT = "  "
GAP = "  "
LONG = 24       # a longer name stands on a line of its own
WIDEST = 9      # a number in fixed notation that is longer is written with an exponent
NONE = "-"


def write_number(value: float | None, form: str = ".3g") -> str:
    """A number in a format; with an exponent where that would be too long, "-" for None."""
    if value is None:
        return NONE
    text = f"{value:{form}}"
    return text if len(text) <= WIDEST else f"{value:.3g}"


def write_value(value: object) -> str:
    """Any value of the case file or a summary; numbers with six digits at most, fixed up to a million."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, (list, tuple)):
        return "[" + ", ".join(map(write_value, value)) + "]"
    return str(value) if isinstance(value, str) else NONE if value is None else f"{value:.6g}"


def align(head: Sequence[Sequence[str]], rows: Sequence[Sequence[str]], left: int = 1,
          longest: int = LONG) -> list[str]:
    """Lines of a table.

    Parameters
    ----------
    head : sequence of rows
        Lines of the heading.
    rows : sequence of rows
        As many texts as the heading has columns.
    left : int
        So many first columns are flush left, the others flush right.
    longest : int
        A first text with more characters stands on a line of its own, its row below.

    Returns
    -------
    lines : list of str
        Indented, as long as the heading and the rows, plus one for every long first text.
    """
    lines = [*head, *(part for row in rows for part in split_long(row, longest))]
    whole = [line for line in lines if len(line) > 1]
    widths = [max(len(line[k]) for line in whole) for k in range(len(whole[0]))]
    return [INDENT + join_cells(line, widths, left) for line in lines]


def split_long(row: Sequence[str], longest: int) -> list[Sequence[str]]:
    """A row, or its long first text and the rest of it as two."""
    return [row] if len(row[0]) <= longest else [row[:1], ["", *row[1:]]]


def join_cells(row: Sequence[str], widths: Sequence[int], left: int) -> str:
    """One line of a table."""
    return GAP.join(text.ljust(width) if k < left else text.rjust(width)
                    for k, (text, width) in enumerate(zip(row, widths))).rstrip()


def fill(text: str, indent: str = INDENT, first: str | None = None) -> list[str]:
    """A text in lines of at most `WIDTH` characters."""
    return wrap(text, WIDTH, initial_indent=indent if first is None else first, subsequent_indent=indent,
                break_long_words=False, break_on_hyphens=False)


def list_points(heading: str, texts: Sequence[str]) -> list[str]:
    """A heading and a point per text; nothing without texts."""
    return [heading, *(line for text in texts for line in fill(text, "    ", "  - "))] if texts else []
