"""What has to be said beside every result."""

CAUTIONS = (
    ("A study aid: not a certificate, a protection setting or an insulation co-ordination. Have it checked "
     "and signed by a competent, where the law asks licensed, engineer; local codes and rules come first."),
    ("A high-voltage cable holds its charge after it is isolated, and voltage can come back after it was "
     "earthed. Nothing shown here is leave to touch anything."),
    "Mate and part wet connectors only dead and earthed.",
    ("Not assessed: fronts steeper than the study's bandwidth, stress between turns, partial discharge, ageing, "
     "fatigue of shafts; breaker re-ignition where the strength of the opening gap is not given. An arrester alone "
     "does not protect a motor from re-ignition."),
    ("Not assessed: heating of the motor. A stalled rotor overheats within seconds, and so do repeated "
     "attempts."),
    ("An unearthed supply runs on with one earth fault; the sound phases then rise to sqrt(3) times their "
     "voltage to earth."),
    "Closing onto a machine that still turns and still has voltage can break shaft and coupling.",
    "Defaults are typical values. Do not order on a result of data grade D.",
)
