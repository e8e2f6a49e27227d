"""A frequency scan as text: resonances, gains at them, and the crossings of harmonics with them."""

from sim.report.tables import GAP, INDENT, align, fill, list_points, write_number

ACROSS = 6      # resonances side by side


def write_scan_text(summary: dict) -> str:
    """Everything a reader wants of a scan; the last line sums it up."""
    blocks = [[summary["title"]], *write_resonances(summary), *write_gains(summary),
              *(write_crossings(summary, name, fan) for name, fan in summary["drives"].items()),
              list_points("Basis", list_basis(summary)), list_points("Warnings", summary["warnings"]),
              [conclude(summary)]]
    return "\n\n".join("\n".join(block) for block in blocks if block)


def write_hz(value: float) -> str:
    """A frequency with four digits at least."""
    return f"{value:.0f}" if value >= 1000.0 else f"{value:.4g}"


def write_resonances(summary: dict) -> list[list[str]]:
    """One block for each sequence."""
    span = f"{write_hz(summary['lowest_hz'])} to {write_hz(summary['highest_hz'])} Hz"
    blocks = []
    for name, modes in summary["resonances"].items():
        rows = [write_resonance(mode) for mode in modes]
        head = [["Hz", "damping", "Q", "worst node", "share", "along cables", ""],
                ["", "% of crit.", "", "", "%", "highest", "at"]]
        lines = tabulate(head, rows, (3, 6)) if rows else [f"{INDENT}none"]
        blocks.append([f"Resonances, {name} sequence, {span}", *lines])
    return blocks


def write_resonance(mode: dict) -> list[str]:
    """Cells of one resonance."""
    node = mode["node"]
    highest, place = find_highest(mode["cables"])
    return [write_hz(mode["frequency_hz"]), write_number(100.0 * mode["damping_ratio"]), write_number(mode["q"]), node,
            write_number(100.0 * mode["participation"][node], ".0f"), write_number(highest), place]


def find_highest(cables: dict[str, dict]) -> tuple[float | None, str]:
    """Largest voltage along all cables and where it is."""
    best, place = None, ""
    for name, entry in cables.items():
        value = entry.get("highest_gain", entry.get("highest_of_mode"))
        if best is None or value > best:
            best, place = value, f"{name}, km {entry['at_km']:.3g}"
    return best, place


def tabulate(head: list[list[str]], rows: list[list[str]], left: tuple[int, ...]) -> list[str]:
    """Lines of a table whose columns are flush right, but for some."""
    lines = [*head, *rows]
    widths = [max(len(line[k]) for line in lines) for k in range(len(head[0]))]
    return [(INDENT + GAP.join(text.ljust(width) if k in left else text.rjust(width)
                               for k, (text, width) in enumerate(zip(line, widths)))).rstrip() for line in lines]


def write_gains(summary: dict) -> list[list[str]]:
    """Gain of every node at every resonance that a source drives, a block for each source."""
    driven: dict[str, list[dict]] = {}
    for mode in summary["resonances"]["positive"]:
        if mode["gain"]:
            driven.setdefault(mode["source"], []).append(mode)
    blocks = []
    for source, modes in driven.items():
        lines = []
        for first in range(0, len(modes), ACROSS):
            here = modes[first:first + ACROSS]
            head = ["node, at Hz:", *(write_hz(mode["frequency_hz"]) for mode in here)]
            names = [name for name in here[0]["gain"] if any(mode["gain"][name] for mode in here)]
            lines += align([head], [[name, *(write_number(mode["gain"][name]) for mode in here)] for name in names],
                           longest=60)
        blocks.append([f"Gain at the resonances, over the voltage behind the impedance of {source}", *lines])
    return blocks


def write_crossings(summary: dict, name: str, fan: dict) -> list[str]:
    """Crossings of one drive."""
    limit = summary["gain_limit"]
    span = f"{fan['from_hz']:.3g} to {fan['to_hz']:.3g} Hz"
    lines = [f"Harmonics of {name}, {span}, orders {', '.join(map(str, fan['orders']))}"]
    rows = [write_crossing(crossing) for crossing in fan["crossings"]]
    head = [["order", "drive", "speed", "harmonic", "gain", "at node", "harmonic", "peak", f"gain above {limit:g}", ""],
            ["", "Hz", "rpm", "Hz", "", "", "pu", "pu", "drive Hz", ""]]
    lines += tabulate(head, rows, (5, 9)) if rows else [f"{INDENT}no order meets a resonance"]
    for gap in fan["not_assessed"]:
        lines += fill(f"order {gap['order']} above {gap['above_drive_hz']:.3g} Hz: not assessed, beyond "
                      f"{write_hz(summary['highest_hz'])} Hz (study.bandwidth_khz)")
    return lines


def write_crossing(crossing: dict) -> list[str]:
    """Cells of one crossing; the speed is that of the first machine."""
    band = [crossing["gain_above_limit_from_hz"], crossing["gain_above_limit_to_hz"]]
    speed = next(iter(crossing["speed_rpm"].values()), None)
    remark = "end of range" if crossing["at_end"] else ""
    return [str(crossing["order"]), write_number(crossing["drive_hz"]), write_number(speed, ".0f"),
            write_hz(crossing["harmonic_hz"]), write_number(crossing["gain"]), crossing["node"],
            write_number(crossing["harmonic_pu"], ".2f"), write_number(crossing["peak_pu"], ".2f"),
            f"{band[0]:.3g} to {band[1]:.3g}" if crossing["exceeds_limit"] else "", remark]


def list_basis(summary: dict) -> list[str]:
    """What the numbers rest on."""
    slips = ", ".join(f"{name} {slip:.3g}" for name, slip in summary["slip_pu"].items())
    constant = ["transformers", *summary["constant_cables"]]
    texts = ["small voltages: iron below its knee, arresters open",
             f"resistance is the same at all frequencies in {', '.join(constant)}: gains come out too high"]
    if slips:
        texts.append(f"rotors at constant speed, slip in pu: {slips}")
    if summary["drives"]:
        share = summary["harmonic_pct"]
        level = "1/k of the fundamental (square edges)" if share is None else f"{share:g} % of the fundamental"
        texts.append(f"harmonic voltage behind the drive's impedance: {level}; the fundamental follows V/f, boost and "
                     "ceiling")
        texts.append("peak: crests of fundamental and harmonic at once, per unit of the crest of nominal voltage")
    if summary["open_switches"]:
        texts.append(f"open, nothing beyond is fed: {', '.join(summary['open_switches'])}")
    return texts


def conclude(summary: dict) -> str:
    """The scan in one sentence."""
    count = len(summary["resonances"]["positive"])
    parts = [f"{count} resonance{'' if count == 1 else 's'} of the positive sequence"]
    parts += [judge(summary, name, fan) for name, fan in summary["drives"].items()] or ["no drive, no crossing chart"]
    return f"{summary['case']}: {'; '.join(parts)}"


def judge(summary: dict, name: str, fan: dict) -> str:
    """What the crossings of one drive come to."""
    limit, beyond = f"{summary['gain_limit']:g}", f"beyond {write_hz(summary['highest_hz'])} Hz not assessed"
    high = [crossing for crossing in fan["crossings"] if crossing["exceeds_limit"]]
    if not high:
        text = f"no harmonic of {name} meets a gain above {limit}"
        return f"{text}, but {beyond}" if fan["not_assessed"] else text
    worst = max(high, key=lambda crossing: crossing["peak_pu"])
    text = (f"filter advised for {name}: gain above {limit} at {len(high)} of {len(fan['crossings'])} crossings, "
            f"highest peak {worst['peak_pu']:.2f} pu by order {worst['order']} at {worst['drive_hz']:.3g} Hz")
    return f"{text}; {beyond}" if fan["not_assessed"] else text
