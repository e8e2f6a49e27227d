"""Column numbers of the tables that kernels share."""

# columns of `drive_data`
(DRIVE_VOLTS, DRIVE_HZ, DRIVE_START_HZ, DRIVE_HOLD, DRIVE_RAMP, DRIVE_BOOST, DRIVE_BOOST_END,
 DRIVE_RISE, DRIVE_LIMIT, DRIVE_FILTER, DRIVE_STALL, DRIVE_TRIM_RATE) = range(12)
DRIVE_COLUMNS = 12

# columns of a drive's state: output frequency, angle, filtered RMS current, voltage trim, stall timer,
# time since start
(X_HZ, X_ANGLE, X_CURRENT, X_TRIM, X_STALL, X_CLOCK) = range(6)
DRIVE_STATES = 6

# columns of a shaft's state: locked (1 or 0), time of first breakaway (-1 before it), largest torque at
# standstill, speed of the second mass, twist of the shaft to it
(SHAFT_LOCKED, SHAFT_FREED, SHAFT_TORQUE, SHAFT_SPEED, SHAFT_TWIST) = range(5)
SHAFT_STATES = 5
SHAFT_SAMPLES = 5           # speed, air-gap torque, load torque, load speed, shaft torque

# columns of `train`: a second mass, the stiffness and the damping of the shaft to it
(TRAIN_INERTIA, TRAIN_STIFFNESS, TRAIN_DAMPING) = range(3)

# columns of `load_data`
(LOAD_DUTY, LOAD_SPEED, LOAD_BREAKAWAY, LOAD_DIP, LOAD_DIP_SPEED, LOAD_CONSTANT, LOAD_KIND) = range(7)
LOAD_COLUMNS = 7
LOAD_NONE, LOAD_PUMP, LOAD_COMPRESSOR, LOAD_TABLE = range(4)
