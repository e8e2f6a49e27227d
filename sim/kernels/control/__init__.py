"""How a drive, its ramp, its pulses and its front end behave over a stage."""
