"""Random three-phase networks as plain dicts of lists of dicts, keyed like a case file.

The lists are `grid`, `transformer`, `cable`, `breaker`, `shunt` and `node`; keys end in their unit, so the
same data can be written as a case by `write_toml` and solved by `network_solutions`.
"""

import numpy as np

GROUPS = ("Dyn11", "Dyn1", "YNd11", "YNd1", "Dd0", "YNyn0", "Yyn0", "Dyn5")
LEVELS = (33.0, 22.0, 11.0, 6.6)


def random_network(seed, size=6, meshed=False, cables=True, frequency=50.0) -> dict:
    """Network of about `size` nodes fed by one grid, a tree or (meshed) with parallel paths.

    Without `cables` the nodes hang together by transformers and breakers only.  Same seed, same network.
    """
    rng = np.random.default_rng(seed)
    network = {"grid": [], "transformer": [], "cable": [], "breaker": [], "shunt": [], "node": []}
    nodes = [("n0", LEVELS[0], 0)]               # name, nominal kV, galvanic zone
    network["grid"].append(_random_grid(rng, frequency))
    for k in range(1, size):
        parent = nodes[rng.integers(len(nodes))]
        nodes.append(_attach(rng, network, parent, k, cables))
    if meshed:
        _add_paths(rng, network, nodes, cables)
    for name, kv, _ in nodes:
        network["node"].append(dict(name=name, nominal_kv=kv, stray_nf=pick(rng, 0.5, 20.0)))
        if rng.random() < 0.6:
            network["shunt"].append(_random_shunt(rng, name, kv))
    return {kind: rows for kind, rows in network.items() if rows}


def write_toml(network: dict, head: str = "") -> str:
    """The network as the text of a case file, after `head` (its own tables)."""
    parts = [head] if head else []
    for kind, rows in network.items():
        for row in rows:
            values = [f"{key} = {show(value)}" for key, value in row.items()]
            parts.append("\n".join([f"[[{kind}]]", *values]) + "\n")
    return "\n".join(parts)


def show(value):
    """A value as TOML writes it."""
    if isinstance(value, bool):
        return "true" if value else "false"
    return f'"{value}"' if isinstance(value, str) else repr(value)


def pick(rng, low, high):
    """A value between two, evenly on a logarithmic scale, to four digits."""
    return float(f"{np.exp(rng.uniform(np.log(low), np.log(high))):.4g}")


def _random_grid(rng, frequency):
    return dict(name="host", node="n0", rated_kv=LEVELS[0], frequency_hz=frequency,
                short_circuit_mva=pick(rng, 150.0, 1500.0), x_over_r=pick(rng, 3.0, 30.0),
                voltage_pu=float(rng.choice([0.95, 1.0, 1.05])), phase_deg=float(rng.integers(-90, 90)),
                x0_over_x1=pick(rng, 0.5, 3.0), earthed=bool(rng.random() < 0.7))


def _attach(rng, network, parent, k, cables):
    """New node n<k> on the far side of a random branch from the parent."""
    name, kv, zone = f"n{k}", parent[1], parent[2]
    draw = rng.random()
    if draw < 0.15:
        network["breaker"].append({"name": f"q{k}", "from": parent[0], "to": name, "closed": True,
                                   "contact_resistance_uohm": 50.0})
    elif draw < 0.65 and cables:
        network["cable"].append(_random_cable(rng, f"c{k}", parent[0], name))
    else:
        kv, zone = float(rng.choice(LEVELS)), k
        network["transformer"].append(_random_transformer(rng, f"t{k}", parent, (name, kv)))
    return name, kv, zone


def _add_paths(rng, network, nodes, cables):
    """A second way between nodes of one zone by cable, and a twin beside one transformer."""
    pairs = [(a, b) for k, a in enumerate(nodes) for b in nodes[k + 1:] if a[2] == b[2]]
    if cables and pairs:
        for k, chosen in enumerate(rng.permutation(len(pairs))[:2]):
            a, b = pairs[chosen]
            network["cable"].append(_random_cable(rng, f"ring{k}", a[0], b[0]))
    if network["transformer"]:
        twin = dict(network["transformer"][rng.integers(len(network["transformer"]))])
        network["transformer"].append(dict(twin, name="twin", impedance_pct=pick(rng, 5.0, 14.0)))


def _random_cable(rng, name, start, end):
    return {"name": name, "from": start, "to": end, "length_km": pick(rng, 0.5, 50.0),
            "resistance_ohm_per_km": pick(rng, 0.05, 0.4), "inductance_mh_per_km": pick(rng, 0.3, 0.5),
            "capacitance_uf_per_km": pick(rng, 0.12, 0.35),
            "zero_resistance_ohm_per_km": pick(rng, 0.3, 1.5),
            "zero_inductance_mh_per_km": pick(rng, 0.5, 1.5),
            "zero_capacitance_uf_per_km": pick(rng, 0.12, 0.35),
            "conductance_us_per_km": pick(rng, 0.05, 1.0)}


def _random_transformer(rng, name, parent, child):
    return {"name": name, "from": parent[0], "to": child[0], "rated_mva": pick(rng, 2.0, 30.0),
            "from_kv": parent[1], "to_kv": child[1],
            "tap_pct": float(rng.choice([-5.0, -2.5, 0.0, 2.5, 5.0])),
            "impedance_pct": pick(rng, 5.0, 14.0), "x_over_r": pick(rng, 5.0, 30.0),
            "vector_group": str(rng.choice(GROUPS)), "no_load_current_pct": pick(rng, 0.3, 1.5),
            "no_load_loss_pct": pick(rng, 0.03, 0.2), "winding_nf": pick(rng, 0.5, 8.0),
            "bushing_nf": 0.0}


def _random_shunt(rng, node, kv):
    """A load of 0.1 to 2 MVA, a capacitor, a reactor or a tuned filter."""
    ohm = kv**2 / pick(rng, 0.1, 2.0)
    w = 100.0 * np.pi
    shape = rng.integers(4)
    row = dict(name=f"s_{node}", node=node, connection="parallel", earthed=bool(rng.random() < 0.7))
    if shape == 0:
        return dict(row, connection="series", resistance_ohm=0.8 * ohm, inductance_mh=0.6e3 * ohm / w)
    if shape == 1:
        return dict(row, resistance_ohm=10.0 * ohm, capacitance_uf=1e6 / (w * ohm))
    if shape == 2:
        return dict(row, resistance_ohm=2.0 * ohm, inductance_mh=2e3 * ohm / w)
    order = float(rng.choice([3.0, 5.0, 7.0]))
    return dict(row, connection="series", resistance_ohm=0.05 * ohm, inductance_mh=1e3 * ohm / (w * order**2),
                capacitance_uf=1e6 / (w * ohm))
