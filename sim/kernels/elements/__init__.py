"""Elements that both engines integrate: machines, shafts, poles, nonlinear ports."""
