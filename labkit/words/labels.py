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
INPUT = "the wiring"
