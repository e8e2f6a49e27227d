"""Start windows as text: limits, what the torque takes over frequency, the recommended setting, trials."""

from sim.report.tables import INDENT, align, fill, list_points, write_number

OPENERS = {"drive_current": "a bigger drive", "core_flux": "cores with more flux", "cable_resistance":
           "a larger conductor", "breakaway": "less breakaway torque"}
CAUTIONS = ("A study aid: settings of a drive need the check of its maker and of a competent engineer; local codes "
            "override.",
            "A stalled rotor overheats within seconds: no attempt may last longer than the motor's thermal limit.")


def write_window_text(summary: dict) -> str:
    """Everything a reader wants of the windows; the last line sums it up."""
    blocks = [[summary["title"]]]
    for name, window in summary["drives"].items():
        blocks += [write_limits(name, window), write_rows(window), write_setting(window), write_openers(window),
                   write_trials(window)]
    blocks += [list_points("Basis", list_basis()), list_points("Warnings", summary["warnings"]),
               list_points("Cautions", CAUTIONS), [conclude(summary)]]
    return "\n\n".join("\n".join(block) for block in blocks if block)


def write_limits(name: str, window: dict) -> list[str]:
    """What the start has to respect."""
    limits = window["limits"]
    torques = ", ".join(f"{machine} {write_number(torque / 1e3)} kN m"
                        for machine, torque in window["breakaway_nm"].items())
    values = sorted(set(limits["flux_pu"].values()))
    flux = " to ".join(write_number(value) for value in dict.fromkeys((values[0], values[-1]))) if values else "-"
    texts = [f"torque at least {limits['torque_to_breakaway']:g} times breakaway ({torques})",
             f"drive current at most {limits['drive_current_pct']:.4g} % of rating ({limits['drive_current_basis']})",
             f"flux of every winding at most {flux} of rated ({', '.join(limits['flux_basis']) or 'no limit'})"]
    return list_points(f"Limits of {name}", texts)


def write_rows(window: dict) -> list[str]:
    """What the required torque takes at some frequencies; of each transformer the winding with more flux."""
    owners = list(dict.fromkeys(name.rpartition(".")[0] for name in window["limits"]["flux_pu"]))
    head = [["start", "boost", "voltage", "current", *owners, "within"],
            ["Hz", "%", "% of rated", "% of rated", *["flux, pu"] * len(owners), "limits"]]
    rows = []
    for row in window["at_required_torque"]:
        flux = [max((value for name, value in row["flux_pu"].items()
                     if name.rpartition(".")[0] == owner and value is not None), default=None) for owner in owners]
        rows.append([f"{row['start_hz']:g}", write_number(row["boost_pct"], ".2f"),
                     write_number(row["drive_voltage_pct"], ".2f"), write_number(row["drive_current_pct"], ".0f"),
                     *(write_number(value, ".2f") for value in flux), "yes" if row["within_limits"] else "no"])
    return ["What the required torque takes at standstill", *align(head, rows, left=0)]


def write_setting(window: dict) -> list[str]:
    """The recommended setting, or the nearest one."""
    found = window.get("recommended") or window["nearest"]
    spans = " and ".join(f"{low:.2f} to {high:.2f} Hz" for low, high in window["window_hz"])
    title = (f"Window: {spans}.  Recommended: {found['start_hz']:g} Hz with {found['boost_pct']:.3g} % of boost"
             if window["has_window"] else
             f"No window.  Nearest: {found['start_hz']:g} Hz with {found['boost_pct']:.3g} % of boost")
    rows = [[name, write_number(margin, ".0f")] for name, margin in found["margins_pct"].items()]
    lines = [title, *align([["margin to", "%"]], rows, longest=60)]
    if window["has_window"]:
        lines += fill("as overrides: " + " ".join(f"--set {item}" for item in found["set"]))
    return lines


def write_openers(window: dict) -> list[str]:
    """What would open a window where there is none."""
    if not window["openers"]:
        return []
    texts = [f"{OPENERS[kind]}: {write_opener(kind, found)}" for kind, found in window["openers"].items()]
    return list_points("What would open one, each alone", texts)


def write_opener(kind: str, found: dict | None) -> str:
    """One opener in a phrase, with its overrides."""
    if found is None:
        return "no amount of it"
    if kind == "drive_current":
        said = f"{found['current_limit_pct']} % of current"
    elif kind == "core_flux":
        said = ", ".join(f"{name} good for {value:.2f} of rated flux" for name, value in found["flux_limit_pu"].items())
    elif kind == "cable_resistance":
        said = (f"{found['resistance_pct']} % of the cables' resistance, {found['cross_section_pct']:.0f} % of their "
                "cross-section")
    else:
        said = f"{found['breakaway_pct']} % of the present one, or a ratio of {found['breakaway_ratio']:.2f} to it"
    sets = " ".join(f"--set {item}" for item in found["set"])
    return f"{said}, started at {found['start_hz']:.2f} Hz" + (f" ({sets})" if sets else "")


def write_trials(window: dict) -> list[str]:
    """What was tried in the time domain."""
    if not window["trials"]:
        return ["Not tried in the time domain"]
    rows = [[trial["why"], f"{trial['start_hz']:.3g}", write_number(trial["boost_pct"], ".2f"), trial["outcome"],
             write_number(trial.get("drive_current_pct"), ".0f"),
             write_number(max((trial.get("flux_pu") or {"": None}).values(), key=lambda v: v or 0.0), ".2f"),
             write_number(trial.get("torque_to_breakaway"), ".2f")] for trial in window["trials"]]
    head = [["setting", "start", "boost", "outcome", "current", "flux", "torque"],
            ["", "Hz", "%", "", "%", "pu", "of breakaway"]]
    widths = [max(len(line[k]) for line in [*head, *rows]) for k in range(len(head[0]))]
    lines = [INDENT + "  ".join(text.ljust(width) if k in (0, 3) else text.rjust(width)
                                for k, (text, width) in enumerate(zip(line, widths))).rstrip()
             for line in [*head, *rows]]
    notes = dict.fromkeys(f"{trial['why']}: {trial['sentence']}" for trial in window["trials"])
    return ["Tried in the time domain", *lines, *(line for note in notes for line in fill(note, "    ", "  - "))]


def list_basis() -> list[str]:
    """What the numbers rest on."""
    return ["phasors with all rotors at standstill, cores by the fundamental of what they draw; flux is the larger of "
            "standstill and turning without load",
            "constant V/f with boost; resistive-drop compensation, if set, is left out",
            "margins as in a verdict: the share of the way from the normal value to the limit that is left"]


def conclude(summary: dict) -> str:
    """All windows in one sentence."""
    parts = []
    for name, window in summary["drives"].items():
        if window["has_window"]:
            spans = " and ".join(f"{low:.2f} to {high:.2f} Hz" for low, high in window["window_hz"])
            best = window["recommended"]
            tried = next((trial["outcome"] for trial in window["trials"]), None)
            told = f", which {tried} in the time domain" if tried else ""
            parts.append(f"{name} has a start window at {spans}, best {best['start_hz']:g} Hz with "
                         f"{best['boost_pct']:.3g} % of boost{told}")
        else:
            opened = [OPENERS[kind] for kind, found in window["openers"].items() if found]
            parts.append(f"{name} has no start window" + (f": {', '.join(opened)} would open one" if opened else ""))
    return f"{summary['case']}: {'; '.join(parts)}"
