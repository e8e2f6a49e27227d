"""Inrush of a transformer: flux of its limbs, currents, and the second harmonic that tells it from a fault."""

from dataclasses import dataclass

import numpy as np

from plots.curves.phases import draw_phases, flag_moves, in_amperes, mark_highest
from plots.curves.series import SUDDEN
from plots.curves.traces import draw_limit, fit_both_ways, fit_height
from plots.frequency.harmonics import share_of_second
from plots.page.assembly import finish, identify
from plots.page.labels import place_note
from plots.page.page import add_axes, name_axes, new_figure, palette, say_empty
from plots.switching.moments import PHASES, find_cycle, find_stretch

HEIGHTS = (2.3, 2.1, 1.4)
SIDES = ("from", "to")
CYCLES_BEFORE, CYCLES_AFTER = 1.0, 12.0
CYCLES_LOOKED_AT = 3.0   # after the closing, for its voltage
DEAD_PU, ALIVE_PU = 0.1, 0.5
NOTE_ROOM = 0.3
LEAST_SHARE = 0.05       # of the highest current: a smaller fundamental has no share to tell
RESTRAINT_PCT = 15.0     # second harmonic at which differential relays commonly restrain (common practice)


@dataclass(frozen=True)
class Inrush:
    """A transformer that came under voltage: the closing, its stretch, a cycle of the source, the next event. [s]"""

    transformer: object
    event: object
    stretch: object
    cycle: float
    following: float

    @property
    def window(self):
        """Start and end of what is drawn. [s]"""
        t = self.stretch.t
        return (max(t[0], self.event.t - CYCLES_BEFORE * self.cycle),
                min(t[-1], self.event.t + CYCLES_AFTER * self.cycle, self.following))

    @property
    def side(self):
        """Winding whose limbs carry more flux: "from" or "to"."""
        return max(SIDES, key=lambda side: self.highest(self.transformer.name, f"flux_{side}"))

    @property
    def carrier(self):
        """Owner and stem of the currents: the transformer's own where it takes any, else those of the breaker."""
        own, poles = (self.transformer.name, "current_from"), (self.event.where, "current")
        return own if self.highest(*own) > 1e-3 * self.highest(*poles) else poles

    def highest(self, owner, stem):
        """Largest absolute value of three phases from the closing on, as far as drawn; 0 without them."""
        signals, t = self.stretch.signals.get(owner, {}), self.stretch.t
        part = (t >= self.event.t) & (t <= self.window[1])
        return max((float(np.abs(signals[f"{stem}_{phase}"][part]).max(initial=0.0)) for phase in PHASES
                    if f"{stem}_{phase}" in signals), default=0.0)


def list_inrushes(run):
    """Transformers that a closing brought under voltage within a waveform stretch, with limb fluxes."""
    closings = [(event, find_stretch(run, event)) for event in run.events if event.what == "close"]
    found = [make_inrush(run, transformer, event, stretch) for event, stretch in closings if stretch is not None
             for transformer in run.case.transformers]
    return [inrush for inrush in found if inrush is not None]


def make_inrush(run, transformer, event, stretch):
    """One energisation; None when the transformer was alive before, stayed dead, or left no limb fluxes."""
    ends = [node for node in run.case.nodes if node.name in (transformer.from_node, transformer.to_node)]
    if not ends or any("voltage" not in stretch.signals.get(node.name, {}) for node in ends):
        return None
    cycle = find_cycle(run, ends[0].name, event.t)
    before = (stretch.t < event.t - 0.1 * cycle) & (stretch.t >= event.t - cycle)
    after = (stretch.t >= event.t) & (stretch.t <= event.t + CYCLES_LOOKED_AT * cycle)
    shares = [stretch.signals[node.name]["voltage"] / node.nominal_v for node in ends]
    dead = all(share[before].max(initial=0.0) < DEAD_PU for share in shares)
    alive = any(share[after].max(initial=0.0) > ALIVE_PU for share in shares)
    following = min((other.t for other in run.events if other.what in SUDDEN and other.t > event.t), default=np.inf)
    inrush = Inrush(transformer, event, stretch, cycle, following)
    return inrush if dead and alive and inrush.highest(transformer.name, f"flux_{inrush.side}") > 0.0 else None


def draw_inrush(run, inrush):
    """Figure of one energisation.

    Parameters
    ----------
    run : StoredRun
    inrush : Inrush

    Returns
    -------
    figure : Figure
        Limb fluxes with the knee on both sides, phase currents, second harmonic of the currents over the last cycle.
    """
    figure = new_figure()
    flux = add_axes(figure)
    amps, second = add_axes(figure, flux), add_axes(figure, flux)
    draw_flux(flux, inrush)
    draw_currents(amps, inrush)
    draw_second(second, inrush)
    flux.set_xlim(*(1e3 * (moment - inrush.event.t) for moment in inrush.window))
    for axes in (flux, amps):
        axes.tick_params(labelbottom=False)
    name_axes(second, x=f"Time after {inrush.event.t:g} s [ms]")
    finish(figure, [flux, amps, second], HEIGHTS, flag_moves(run, inrush.event, inrush.window),
           f"{inrush.transformer.name} comes under voltage", describe(inrush),
           ("second harmonic: over the cycle that ends at each time", identify(run)))
    mark_highest(flux, "{:.2f} pu".format)
    mark_highest(amps, in_amperes)
    mark_second(second)
    return figure


def draw_flux(axes, inrush):
    """Flux of the limbs and the knee of the core."""
    name_axes(axes, y="Limb flux [pu of rated crest]")
    draw_phases(axes, inrush.stretch, inrush.transformer.name, f"flux_{inrush.side}", inrush.window, inrush.event.t,
                name="limb {}")
    knee = getattr(inrush.transformer, "knee_pu", None)
    if knee is not None:
        draw_limit(axes, knee, f"knee {knee:g} pu")
        draw_limit(axes, -knee, "_knee below")
    fit_both_ways(axes, room=NOTE_ROOM)


def draw_currents(axes, inrush):
    """Currents of the phases."""
    owner, stem = inrush.carrier
    name_axes(axes, y="Current [A]")
    if not draw_phases(axes, inrush.stretch, owner, stem, inrush.window, inrush.event.t):
        return say_empty(axes, f"This run holds no phase currents of {owner}.")
    return fit_both_ways(axes, room=NOTE_ROOM)


def draw_second(axes, inrush):
    """Second harmonic of each phase current in per cent of its fundamental, with a usual restraint setting."""
    name_axes(axes, y="2nd harmonic [%]")
    owner, stem = inrush.carrier
    signals, t = inrush.stretch.signals.get(owner, {}), inrush.stretch.t
    part = (t >= inrush.event.t) & (t <= inrush.window[1])
    least = LEAST_SHARE * inrush.highest(owner, stem)
    for phase in PHASES:
        if f"{stem}_{phase}" in signals and part.sum() > 2:
            ends, share = share_of_second(t[part], signals[f"{stem}_{phase}"][part], 1.0 / inrush.cycle, least)
            axes.plot(1e3 * (ends - inrush.event.t), share, color=palette.PHASES[phase], linewidth=1.1, zorder=3,
                      label=f"phase {phase}")
    draw_limit(axes, RESTRAINT_PCT, f"usual restraint {RESTRAINT_PCT:g} %")
    fit_height(axes, least=1.5 * RESTRAINT_PCT)


def describe(inrush):
    """Highest flux and current in a sentence."""
    knee = getattr(inrush.transformer, "knee_pu", None)
    core = "" if knee is None else f", the core saturates at {knee:g} pu"
    owner, stem = inrush.carrier
    where = "into the transformer" if owner == inrush.transformer.name else f"in {owner}"
    flux = inrush.highest(inrush.transformer.name, f"flux_{inrush.side}")
    return (f"highest limb flux {flux:.2f} pu ({inrush.side} winding){core}; highest current "
            f"{inrush.highest(owner, stem):.0f} A {where}")


def mark_second(axes):
    """Note at the largest share that is left at the end of the panel's lines."""
    lines = [line for line in axes.lines if line.get_label().startswith("phase ")
             and np.isfinite(line.get_ydata()).any()]
    if not lines:
        return None
    line = min(lines, key=lambda line: np.nanmin(line.get_ydata()))
    k = int(np.nanargmin(line.get_ydata()))
    return place_note(axes, (line.get_xdata()[k], line.get_ydata()[k]), f"least {line.get_ydata()[k]:.0f} %",
                      line.get_color())
