"""Colours, type sizes and line widths of every figure.

The colours keep apart on white paper, in grey print (their lightness differs) and for a reader with
deuteranopia.  Dash patterns carry the same meaning again, so that no statement rests on colour alone.
"""

INK = "#20252f"
QUIET = "#69707d"
RULE = "#d5d8de"
LIMIT = "#a3123a"
SHADE = "#eef0f4"

LINES = ("#10577f", "#dd8a12", "#8c2f6b", "#35a79c", "#6b5a3a", "#a58fd0")
PHASES = {"a": "#2a2f45", "b": "#d07a1c", "c": "#45a3b5"}
DASHES = ("-", (0, (5, 1.6)), (0, (1.6, 1.2)), (0, (6, 1.5, 1.5, 1.5)))
LIMIT_DASH = (0, (7, 2, 1.5, 2))
LOAD_DASH = (0, (4, 1.8))

LEFT_OVER = "#bfe3df"
SHORTFALL = "#f0c6d1"
VERDICTS = {"starts": "#1b756c", "marginal": "#955a00", "does not start": LIMIT}

SMALL = 7.5
NORMAL = 8.5
TITLE = 11.5
DOTS_PER_INCH = 150

BOLD_LINE = 1.5
FINE_LINE = 0.7


def pick_colours(case):
    """One colour for every machine, drive and node of a case, by name.

    A node shares the colour of the machine, else the drive, connected to it, so that voltage, current,
    speed and torque of one machine are seen as one thing.  Names beyond the palette are grey.
    """
    owners = [*case.machines, *case.drives]
    names = [owner.name for owner in owners]
    shared = {owner.node: owner.name for owner in reversed(owners)}
    names += [node.name for node in case.nodes if node.name not in shared]
    colours = dict(zip(names, LINES)) | dict.fromkeys(names[len(LINES):], QUIET)
    return colours | {node: colours[owner] for node, owner in shared.items()}
