"""Column numbers of the tables that kernels share."""

# columns of `drive_data`
(DRIVE_VOLTS, DRIVE_HZ, DRIVE_START_HZ, DRIVE_HOLD, DRIVE_RAMP, DRIVE_BOOST, DRIVE_BOOST_END,
 DRIVE_RISE, DRIVE_LIMIT, DRIVE_FILTER, DRIVE_STALL, DRIVE_TRIM_RATE,
 DRIVE_RATED,                   # rated RMS current
 DRIVE_CEILING,                 # highest voltage, of rated
 DRIVE_BENDS,                   # 1: the current limit turns the ramp back, 0: it holds it
 DRIVE_JERK,                    # rate at which the slope of the ramp changes, 0: at once
 DRIVE_DROP,                    # resistance whose drop is made up for
 DRIVE_DROP_MOST,               # most voltage added for it
 DRIVE_SLIP,                    # frequency added at rated current, all of it active
 DRIVE_SEEN,                    # time constant of the current's components behind the last three
 DRIVE_REST,                    # time in which a spent overload is regained
 DRIVE_OVERCURRENT,             # RMS current at which the pulses are blocked at once
 DRIVE_SEARCH_RATE,             # slope of the frequency while it looks for the speed of a spinning motor
 DRIVE_SEARCH_SHARE,            # share of the voltage meanwhile
 DRIVE_BUFFER,                  # direct voltage below which the ramp turns back, 0: it does not
 DRIVE_BUFFER_RATE,             # steepest slope of the frequency then
 DRIVE_PEAK,                    # line-to-line RMS output per unit of direct voltage at full modulation
 DRIVE_STRETCH) = range(28)     # first of STRETCHES pairs: frequency up to which a slope holds, slope
STRETCHES, OVERLOADS = 4, 4
DRIVE_OVERLOAD = DRIVE_STRETCH + 2 * STRETCHES      # first of OVERLOADS pairs: RMS current, time it is allowed

# direct-voltage link and front end, columns of the same table
(LINK_FARADS,                   # capacitance, 0: a supply that gives any power
 LINK_VOLTS,                    # rated direct voltage
 LINK_LOSS,                     # power lost in the drive while it is on
 LINK_LEAST,                    # direct voltage at which the pulses are blocked
 FRONT_RECTIFIER,               # 1: diodes only
 FRONT_W,                       # rated angular frequency of its supply
 FRONT_VOLTS,                   # rated line-to-line RMS voltage of its supply
 FRONT_FILTER,                  # time constant of the measured voltage
 FRONT_GAIN,                    # voltage per unit of current error
 FRONT_R,                       # resistance and inductance between the supply and the bridge
 FRONT_L,
 FRONT_MOST,                    # largest current it asks for, as a space vector
 FRONT_PULL,                    # power asked per unit of missing energy
 FRONT_PUSH,                    # growth of power asked per unit of missing energy
 FRONT_TANGENT,                 # reactive over active power, both taken from the supply
 FRONT_STEPS,                   # pulses of a period
 FRONT_RATIO,                   # rated voltage of the supply over that at the bridge
 FRONT_RESISTOR) = range(DRIVE_OVERLOAD + 2 * OVERLOADS, DRIVE_OVERLOAD + 2 * OVERLOADS + 18)  # charges the link
DRIVE_COLUMNS = FRONT_RESISTOR + 1

# columns of a drive's state: output frequency without slip compensation, angle, filtered RMS current, voltage trim,
# stall timer, time since start, slope of the ramp, filtered active and reactive RMS current, share of the overload
# spent; then what outlives a start: energy of the link, power asked by its controller, measured supply voltage
(X_HZ, X_ANGLE, X_CURRENT, X_TRIM, X_STALL, X_CLOCK, X_RATE, X_ACTIVE, X_REACTIVE, X_HEAT,
 X_ENERGY, X_POWER, X_SUPPLY, X_SUPPLY_Q,
 # modes, 1 or 0, that change by orders and alarms only
 X_SEARCHES,                # looks for the speed of a spinning motor
 X_STOPS,                   # ramps down to block its pulses
 X_TOLD,                    # has been told to stop: its pulses go on until the next current zeros
 X_CHARGES,                 # the link is charged through its resistor
 X_CONTROLLED,              # the front end is controlled; 0 while its diodes carry the current
 X_DIODES) = range(20)      # the front end never takes up its control: diodes only, or given up for good
DRIVE_STATES = 20
# columns of a drive's samples
(DRIVE_SAMPLE_HZ, DRIVE_SAMPLE_EMF, DRIVE_SAMPLE_TRIM, DRIVE_SAMPLE_AMPS, DRIVE_SAMPLE_DIRECT,
 DRIVE_SAMPLE_POWER) = range(6)
DRIVE_SAMPLES = 6           # output frequency, emf, trim, RMS current, direct voltage, active power

# scalars of a drive in a stage of the envelope engine: output current, supply voltage and current of its front end
(S_OUT, S_OUT_Q, S_SUPPLY, S_SUPPLY_Q, S_FRONT, S_FRONT_Q) = range(6)
DRIVE_SCALARS = 6

# columns of `pulse_data`
(PULSE_LEVELS,              # 2, 3; 0: no pulses; -N: N cells
 PULSE_HZ, PULSE_PHASE,     # carrier: frequency [Hz] and angle at t = 0 [rad]
 PULSE_THIRD,               # third harmonic of the reference, of its fundamental
 PULSE_DEAD) = range(5)     # dead time [s]
PULSE_COLUMNS = 5

WINDINGS = 3                # of a machine: stator and two cages
KNEES = 6                   # bends of a saturation curve: cores, main paths of machines

# columns of a shaft's state: locked (1 or 0), time of first breakaway (-1 before it), largest torque at
# standstill, speed of the second mass, twist of the shaft to it
(SHAFT_LOCKED, SHAFT_FREED, SHAFT_TORQUE, SHAFT_SPEED, SHAFT_TWIST) = range(5)
SHAFT_STATES = 5
# columns of its samples
(SHAFT_SAMPLE_SPEED, SHAFT_SAMPLE_TORQUE, SHAFT_SAMPLE_LOAD, SHAFT_SAMPLE_LOAD_SPEED, SHAFT_SAMPLE_TWISTING) = range(5)
SHAFT_SAMPLES = 5           # speed, air-gap torque, load torque, load speed, shaft torque

# columns of `train`: a second mass, the stiffness and the damping of the shaft to it
(TRAIN_INERTIA, TRAIN_STIFFNESS, TRAIN_DAMPING) = range(3)

# columns of `load_data`
(LOAD_DUTY, LOAD_SPEED, LOAD_BREAKAWAY, LOAD_DIP, LOAD_DIP_SPEED, LOAD_CONSTANT, LOAD_KIND) = range(7)
LOAD_COLUMNS = 7
LOAD_NONE, LOAD_PUMP, LOAD_COMPRESSOR, LOAD_TABLE = range(4)

# columns of a run's energy: from outside, lost, to the shafts, sum of absolute source power; steps taken
(ENERGY_DELIVERED, ENERGY_DISSIPATED, ENERGY_SHAFT, ENERGY_THROUGHPUT, ENERGY_STEPS) = range(5)

# columns of the peaks of a node
(PEAK_EARTH, PEAK_EARTH_TIME, PEAK_PHASE, PEAK_PHASE_TIME) = range(4)
PEAK_COLUMNS = 4

# columns of the step control of the envelope engine: proposed step, 1 when no slope can be reused, power that drives
# with a link lost at the end of the last step, step that is accepted whatever its estimate
(CONTROL_STEP, CONTROL_FRESH, CONTROL_LOST, CONTROL_JUMP) = range(4)
CONTROL_COLUMNS = 4

# work of the envelope engine
(WORK_NEWTON, WORK_JACOBIANS, WORK_FACTORISATIONS, WORK_ACCEPTED, WORK_REFUSED) = range(5)
WORK_COLUMNS = 5

# kinds of sources: voltage behind a short-circuit impedance, output of a drive
(SOURCE_GRID, SOURCE_DRIVE) = range(2)

# kinds of monitors: control of a drive, its front end, the flux of a core
(MONITOR_DRIVE, MONITOR_FRONT, MONITOR_CORE) = range(3)
NOTHING_TO_TELL = 0         # what every monitor says most of the time
CORE_BEYOND = 1             # the flux of a core passed its limit
