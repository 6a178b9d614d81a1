"""Short labels: what things are called in tables, figures and sentences."""

CONNECTION = {
    "self_inductance_1": "winding 1 alone",
    "self_inductance_2": "winding 2 alone",
    "series_aiding": "series-aiding",
    "series_opposing": "series-opposing",
    "parallel_aiding": "parallel-aiding",
    "parallel_opposing": "parallel-opposing",
    "short_circuit_1": "winding 1 (2 shorted)",
    "short_circuit_2": "winding 2 (1 shorted)",
    "open": "an open circuit",
    "leads": "the leads alone",
}
EITHER = {
    "series_aiding": "in line, one way",
    "series_opposing": "in line, the other way",
    "parallel_aiding": "side by side, one way",
    "parallel_opposing": "side by side, the other way",
}
"""What the connections are called while unknown dots leave their polarity open."""

QUANTITY = {
    "self_inductance_1": "L1",
    "self_inductance_2": "L2",
    "mutual_inductance": "M",
    "coupling_coefficient": "k",
    "gap": "1 − k",
    "series_aiding": "the series-aiding inductance",
    "leakage_differential_mode": "the series-opposing inductance",
    "parallel_aiding": "the parallel-aiding inductance",
    "parallel_opposing": "the parallel-opposing inductance",
    "short_circuit_1": "the short-circuit inductance of winding 1",
    "short_circuit_2": "the short-circuit inductance of winding 2",
}
"""What a joint fit can tell, by the names of `labkit.analysis.joint_fit.QUANTITIES`."""

INPUT = "the wiring"
