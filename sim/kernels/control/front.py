"""Direct-voltage link of a drive and the front end that feeds it from another supply.

The link holds W = C V^2/2 and moves by what the front end brings, the output takes and the drive loses:

    dW/dt = P_front - P_out - P_loss

A controlled front end is a voltage behind its inductance L.  It measures the supply voltage v through a filter that
turns with the rated frequency w, asks for the current of the power its link controller wants, and sets

    e = vm + (R + j w L) i* + K (i* - i),     i* = -conj((P + j Q)/vm),     P = Kp (W* - W) + x,  dx/dt = Ki (W* - W)

so that the current follows i* with the time constant L/K and the power is constant below the controller's bandwidth:
the supply sees a negative incremental resistance.  vm obeys d vm/dt = j w vm + (v - vm)/T.

Diodes hold the fundamental sqrt(6)/pi V of a bridge that conducts all the time against the current, and let no current
flow where the supply stays below it.  Below CONDUCTING of rated current the two pass into each other.  The diodes of an
output whose pulses are blocked do the same.

An empty link gives nothing: its voltage is zero, what the drive loses has faded with the energy below the voltage at
which the pulses are blocked, and diodes find it a short circuit that charges it.  The energy itself is never clamped;
within a stage that empties the link it may fall below zero by a part of what that stage drew.
Sources: N. Mohan, T. M. Undeland, W. P. Robbins, *Power Electronics*, chapters 5 and 8; complex-coefficient filters: X.
Guo et al., IEEE Trans. Ind. Electron. 58 (2011) (both from memory, to be checked).
"""

import numpy as np

from sim.kernels.columns import (
    DRIVE_RATED,
    FRONT_FILTER,
    FRONT_GAIN,
    FRONT_L,
    FRONT_MOST,
    FRONT_PULL,
    FRONT_PUSH,
    FRONT_R,
    FRONT_RATIO,
    FRONT_RESISTOR,
    FRONT_TANGENT,
    FRONT_VOLTS,
    FRONT_W,
    LINK_FARADS,
    LINK_LEAST,
    LINK_VOLTS,
    NOTHING_TO_TELL,
    X_CHARGES,
    X_CONTROLLED,
    X_DIODES,
    X_ENERGY,
    X_POWER,
    X_SUPPLY,
    X_SUPPLY_Q,
)
from sim.kernels.jit import entry

BRIDGE = np.sqrt(6.0) / np.pi       # fundamental line-to-line RMS per unit of direct voltage, bridge conducting
MODULATED = np.sqrt(0.5)            # the same of a controlled bridge at the end of its linear range
CONDUCTING = 0.05                   # share of rated current from which a diode bridge is taken to conduct
LOSING = 0.5                        # a controlled front end gives up below this share of rated supply voltage
REGAINED = 0.8                      # and takes up its work again above this one
CHARGED = 0.95                      # a link is charged at this share of what the diodes bring it to
BLOCKED = 0.01                      # the same of the diodes of an output, whose currents are to find their zeros
TURNING = 0.015                     # share of a step of a bridge's voltage over which it passes to the next
EMPTY = 1e-3                        # share of rated direct voltage below which a link is taken to be empty
BRIDGED, GIVEN_UP, TAKEN_UP = range(1, 4)


@entry
def limit_size(value, most):
    """A complex number shortened to a largest magnitude."""
    size = abs(value)
    return value if size <= most else value * (most / size)


@entry
def link_volts(energy, data):
    """Direct voltage at an energy of the link. [V]"""
    return np.sqrt(2.0 * max(energy, 0.0) / data[LINK_FARADS])


@entry
def faded_loss(energy, d, loss, data):
    """What a drive loses in a stage at whose end its link held `energy` without that loss. [W]

    Below the voltage at which pulses are blocked the loss falls with the energy: implicit, so that it empties no link.
    """
    least = 0.5 * data[LINK_FARADS] * max(data[LINK_LEAST], EMPTY * data[LINK_VOLTS]) ** 2
    return loss * min(1.0, max(energy, 0.0) / (least + d * loss))


@entry
def stepped(angle, steps):
    """Direction of a wave of so many steps a period whose fundamental has angle and size of exp(j angle).

    Near its edges it passes straight from one step to the next, as while a current commutates.
    """
    width = 2.0 * np.pi / steps
    place = angle / width + 0.5
    nearest = np.floor(place)
    share, turn = place - nearest, 0.0
    if share < TURNING:
        turn = -0.5 * (1.0 - share / TURNING)
    elif share > 1.0 - TURNING:
        turn = 0.5 * (1.0 - (1.0 - share) / TURNING)
    wave = np.exp(1j * width * nearest) * (0.5 * width / np.sin(0.5 * width))
    if turn != 0.0:
        wave *= 1.0 + abs(turn) * (np.exp(1j * width * np.sign(turn)) - 1.0)
    return wave


@entry
def held_emf(own, supply, current, conducting, steps):
    """Voltage of diodes whose fundamental is `own` while they conduct; `current` flows out of the bridge. [V]

    Below `conducting` [A] they pass into a bridge that blocks, without steps: its voltage is the supply's.
    """
    share = min(1.0, abs(current) / conducting)
    emf = (1.0 - share) * limit_size(supply, own)
    if share > 0.0:
        wave = -current / abs(current)
        if steps > 0.0:
            wave += share * (stepped(np.angle(wave), steps) - wave)
        emf += share * own * wave
    return emf


@entry
def diode_emf(volts, supply, current, steps, resistor, data):
    """Voltage of a diode bridge at direct voltage `volts`; `current` flows out of the bridge. [V]

    steps is the number of steps of its voltage in a period, 0 for the fundamental alone; `resistor` the one that
    charges the link, 0 once it is bridged. [ohm]
    """
    if volts < EMPTY * data[LINK_VOLTS]:        # nothing but a voltage against the current, so that it begins to charge
        volts, supply = EMPTY * data[LINK_VOLTS], 0.0j
    own = BRIDGE * data[FRONT_RATIO] * volts
    return held_emf(own, supply, current, CONDUCTING * data[FRONT_MOST], steps) - resistor * current


@entry
def blocked_emf(energy, terminals, current, data):
    """Voltage of an output whose pulses are blocked: its diodes lead the current back into the link. [V]"""
    volts = max(link_volts(energy, data), EMPTY * data[LINK_VOLTS])
    return held_emf(BRIDGE * volts, terminals, current, BLOCKED * np.sqrt(3.0) * data[DRIVE_RATED], 6.0)


@entry
def controlled_emf(seen, power, current, data):
    """Voltage of a controlled front end for a measured supply voltage and a wanted power. [V]"""
    size = max(abs(seen), LOSING * data[FRONT_VOLTS])
    asked = -power * complex(1.0, -data[FRONT_TANGENT]) * seen / size**2
    asked = limit_size(asked, data[FRONT_MOST])
    return seen + complex(data[FRONT_R] + data[FRONT_GAIN], data[FRONT_W] * data[FRONT_L]) * asked - (
        data[FRONT_GAIN] * current)


@entry
def front_emf(energy, e, d, seen, supply, current, steps, data):
    """Voltage of the front end at an energy of the link [V], and the power its controller's integral asks. [W]"""
    volts = link_volts(energy, data)
    if e[X_CONTROLLED] != 1.0 or volts < EMPTY * data[LINK_VOLTS]:
        return diode_emf(volts, supply, current, steps, data[FRONT_RESISTOR] * e[X_CHARGES], data), 0.0
    missing = 0.5 * data[LINK_FARADS] * data[LINK_VOLTS] ** 2 - energy
    most = data[FRONT_MOST] * data[FRONT_VOLTS]
    power = min(most, max(-most, e[X_POWER] + d * data[FRONT_PUSH] * missing))
    emf = controlled_emf(seen, power + data[FRONT_PULL] * missing, current, data)
    return limit_size(emf, MODULATED * data[FRONT_RATIO] * volts), power


@entry
def filtered_supply(e, d, supply, frame_w, data):
    """Measured supply voltage at the end of a stage. [V]"""
    ratio = d / data[FRONT_FILTER]
    return (complex(e[X_SUPPLY], e[X_SUPPLY_Q]) + ratio * supply) / complex(
        1.0 + ratio, -d * (data[FRONT_W] - frame_w))


@entry
def link_energy(e, d, emf, current, out_power, loss, data):
    """Energy of the link at the end of a stage [J] and all that is lost, in the charging resistor too. [W]"""
    lost = data[FRONT_RESISTOR] * e[X_CHARGES] * (current.real**2 + current.imag**2)
    energy = e[X_ENERGY] - d * (emf.real * current.real + emf.imag * current.imag + out_power + lost)
    loss = faded_loss(energy, d, loss, data)
    return energy - d * loss, lost + loss


@entry
def front_stage(d, e, supply, current, out_power, loss, frame_w, steps, data, x):
    """One implicit stage of link and front end; returns the front end's voltage [V] and losses [W].

    supply and current are space vectors at its node and out of it, in a frame at frame_w; out_power is what the output
    takes and `loss` what the drive loses with its link charged. [W]  The second value returned is all that is lost, in
    the charging resistor too. [W]  The energy solves W = e + d P(W) by one secant, which is exact while P is linear in
    it; what is stored is e + d P at the voltage returned, so that no energy is lost whatever the secant misses.
    """
    seen = filtered_supply(e, d, supply, frame_w, data)
    x[X_SUPPLY], x[X_SUPPLY_Q] = seen.real, seen.imag
    energy, last, first, moved, emf, power, lost = e[X_ENERGY], 0.0, 0.0, 0.0, 0.0j, 0.0, 0.0
    for k in range(3):
        emf, power = front_emf(energy, e, d, seen, supply, current, steps, data)
        moved, lost = link_energy(e, d, emf, current, out_power, loss, data)
        if k == 0:
            last, energy = energy, moved
            first = moved
        elif k == 1:                # from (last, first) and (energy, moved) to where both are one
            bend = (moved - first) - (energy - last)
            if bend != 0.0:
                energy -= (moved - energy) * (energy - last) / bend
    x[X_ENERGY], x[X_POWER] = moved, power
    return emf, lost


@entry
def find_front_alarm(x, data):
    """What a front end must be told at a point, NOTHING_TO_TELL as a rule."""
    seen = abs(complex(x[X_SUPPLY], x[X_SUPPLY_Q]))
    volts = link_volts(x[X_ENERGY], data)
    if x[X_CHARGES] == 1.0:
        full = volts >= CHARGED * seen / (BRIDGE * data[FRONT_RATIO])
        return BRIDGED if full and seen > REGAINED * data[FRONT_VOLTS] else NOTHING_TO_TELL
    if x[X_CONTROLLED] == 1.0:
        return GIVEN_UP if seen < LOSING * data[FRONT_VOLTS] else NOTHING_TO_TELL
    return TAKEN_UP if x[X_DIODES] == 0.0 and seen > REGAINED * data[FRONT_VOLTS] else NOTHING_TO_TELL
