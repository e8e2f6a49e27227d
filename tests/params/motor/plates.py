"""Random nameplates that a motor can have."""

import numpy as np

from sim.params.motor.fit import Nameplate

# Why a nameplate is plausible, in handbook approximations (per unit of rated voltage and input power, g = eta pf/(1-s)
# the gap power at rated load; the limits are derived without the fit, the margins are not, see below):
#   standstill:  R = T_LR g / I_LR^2,  X_st = sqrt(1/I_LR^2 - (Rs + R)^2)
#   breakdown:   T_BD g = 1 / (2 (Rs + sqrt(Rs^2 + X_run^2)))  gives the leakage X_run at small slip; so with no
#                stator resistance and no displacement T_BD = I_LR/(2 g), about 0.6 I_LR, and 0.55 I_LR with them
#   rated load:  R_run = s E^2/g,  E = 1 - (X_st/2) sin(phi)  (T_LR = s I_LR^2 (E/g)^2 without displacement)
# Half of X_st is the stator's; the rotor's share rho = (X_run - X_st/2)/(X_st/2) of running over standstill reactance
# tells how much two cages displace: their resistance must grow at least (2 - 1/rho)-fold, the limit of equal cage
# resistances, and X_run - X_st >= (R - R_run)^2/(X_st/2), the limit of a rotor without leakage at full displacement.
# The leakage takes X_run pf^2 of reactive power at rated load; the rest magnetises.
# The margins to these limits (25 %, 10 %, 0.15 of no-load current) cover the approximations' errors.  Their sizes were
# chosen with the fit's success on other seeds in view: what the share of fits tells is that few nameplates well inside
# the limits are refused, not that the limits themselves are sharp.
GROWTH_MARGIN, LEAKAGE_MARGIN, LEAST_MAGNETISING = 1.25, 1.10, 0.15


def is_plausible(plate, slip, resistance):
    """Whether the rule above holds; resistance is the stator's [pu]."""
    g = plate.efficiency * plate.power_factor / (1.0 - slip)
    rotor = plate.locked_rotor_torque * g / plate.locked_rotor_current**2
    square = plate.locked_rotor_current**-2 - (resistance + rotor) ** 2
    outer = 1.0 / (2.0 * plate.breakdown_torque * g)
    run = outer**2 - 2.0 * outer * resistance
    if square <= 0.0 or run <= 0.0:
        return False
    still, run, sine = square**0.5, run**0.5, (1.0 - plate.power_factor**2) ** 0.5
    running = slip * (1.0 - 0.5 * still * sine) ** 2 / g
    rho = 2.0 * run / still - 1.0
    if rho < 1.0 or rotor < GROWTH_MARGIN * (2.0 - 1.0 / rho) * running:
        return False
    if run < LEAKAGE_MARGIN * (still + (rotor - running) ** 2 / (0.5 * still)):
        return False
    return sine - run * plate.power_factor**2 >= LEAST_MAGNETISING


def draw_plate(rng):
    """A nameplate drawn evenly from 100 kW to 15 MW and the usual ranges; the rotor loses 12 to 30 % of all losses."""
    power = 10.0 ** rng.uniform(5.0, np.log10(1.5e7))
    poles, frequency = int(rng.choice([2, 4, 6, 8, 10, 12])), float(rng.choice([50.0, 60.0]))
    efficiency, factor = rng.uniform(0.90, 0.975), rng.uniform(0.78, 0.92)
    loss = rng.uniform(0.12, 0.30) * (1.0 / efficiency - 1.0)
    slip = loss / (1.0 + loss)
    plate = Nameplate(power, float(rng.choice([3300.0, 6600.0, 11000.0, 13800.0])), frequency, poles,
                      4.0 * np.pi * frequency / poles * (1.0 - slip), efficiency, factor, rng.uniform(4.0, 7.0),
                      rng.uniform(0.5, 1.5), rng.uniform(1.8, 3.0))
    return plate, slip


def list_plausible(count, seed):
    """The first plausible nameplates of a seed; a quarter of all losses is stator copper in the rule (common
    practice), over a current of one."""
    rng, found = np.random.default_rng(seed), []
    while len(found) < count:
        plate, slip = draw_plate(rng)
        if is_plausible(plate, slip, 0.25 * (1.0 - plate.efficiency) * plate.power_factor):
            found.append(plate)
    return found
