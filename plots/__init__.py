"""Standard figures of a run: overview, switching close-ups, torque against speed, overlays.

Every panel takes axes and a run and returns artists.  Nothing here integrates or reads a case file, and no
global state of the drawing library is touched.
"""

from plots.standard import draw_overlay, draw_run

__all__ = ["draw_overlay", "draw_run"]
