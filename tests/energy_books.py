"""How well the energy balance of a run closes, on the energy that really changed its form."""


def changed_energy(books):
    """Energy stored or released, lost and turned into work over a run. [J]

    The throughput of a run also counts what goes to and fro between source and network; a residual judged on it looks
    smaller the more reactive power flows.
    """
    return abs(books.stored_change) + abs(books.dissipated) + abs(books.shaft_work)


def lost_share(result):
    """Residual of a run's energy balance, of the energy that changed. [1]"""
    changed = changed_energy(result.energy)
    assert changed > 0.0, "no energy changed: there is nothing to judge a residual on"
    return abs(result.energy.residual) / changed
