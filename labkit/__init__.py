"""Lab notebooks for inductance experiments with coupled windings.

A record holds what was entered; everything else is computed from it:

    bench = labkit.demo_bench()       # or open_bench(folder), new_bench(folder, part)
    labkit.predict(bench)             # what each connection should read
    labkit.compare(bench)             # every reading against every statement
    labkit.explain(bench)             # what the readings say, and which one would say more
    labkit.report(bench, "report.html")

Nothing heavy is imported before it is used.
"""

__version__ = "0.1.0"

TYPE_CHECKING = False  # type checkers read it as true; importing it from typing would double the import time

if TYPE_CHECKING:
    from labkit.analysis.characterise.matrix_results import inductance_matrix
    from labkit.analysis.meter_results import meter_check
    from labkit.analysis.planning import plan
    from labkit.analysis.results import amounts, budget, compare, explain, next_reading, predict
    from labkit.analysis.worked import work_out
    from labkit.bench.bench import new_bench, open_bench
    from labkit.bench.card import read_card
    from labkit.bench.card_writing import write_card
    from labkit.bench.demo import demo_bench
    from labkit.bench.practice import practice_bench
    from labkit.faces.bars import budget_bars
    from labkit.faces.built import what_is
    from labkit.faces.characterised import characterisation_report, characterise
    from labkit.faces.class_charts import class_dots, class_scores
    from labkit.faces.coupling import coupling_scale
    from labkit.faces.distribution import distribution
    from labkit.faces.figures import comparison
    from labkit.faces.guard_band import guard_band
    from labkit.faces.live.boards import derivation_board, wiring_board
    from labkit.faces.live.card import card_form
    from labkit.faces.live.form import form
    from labkit.faces.live.presenting import present
    from labkit.faces.modes import insertion_loss, modes
    from labkit.faces.report import report
    from labkit.faces.ring import flux
    from labkit.faces.safety import cautions
    from labkit.faces.schematic import draw
    from labkit.handin.class_results import class_results
    from labkit.resources import shipped
    from labkit.theory.derivation import derive
    from labkit.theory.network import input_impedance, input_inductance
    from labkit.theory.pair import Pair

__all__ = [
    "Pair",
    "amounts",
    "budget",
    "budget_bars",
    "card_form",
    "cautions",
    "characterisation_report",
    "characterise",
    "class_dots",
    "class_results",
    "class_scores",
    "compare",
    "comparison",
    "coupling_scale",
    "demo_bench",
    "derivation_board",
    "derive",
    "distribution",
    "draw",
    "explain",
    "flux",
    "form",
    "guard_band",
    "inductance_matrix",
    "input_impedance",
    "input_inductance",
    "insertion_loss",
    "meter_check",
    "modes",
    "new_bench",
    "next_reading",
    "open_bench",
    "plan",
    "practice_bench",
    "predict",
    "present",
    "read_card",
    "report",
    "shipped",
    "what_is",
    "wiring_board",
    "work_out",
    "write_card",
]

_HOME = {
    "Pair": "labkit.theory.pair",
    "amounts": "labkit.analysis.results",
    "budget": "labkit.analysis.results",
    "budget_bars": "labkit.faces.bars",
    "card_form": "labkit.faces.live.card",
    "cautions": "labkit.faces.safety",
    "class_dots": "labkit.faces.class_charts",
    "class_results": "labkit.handin.class_results",
    "class_scores": "labkit.faces.class_charts",
    "characterisation_report": "labkit.faces.characterised",
    "characterise": "labkit.faces.characterised",
    "compare": "labkit.analysis.results",
    "comparison": "labkit.faces.figures",
    "coupling_scale": "labkit.faces.coupling",
    "demo_bench": "labkit.bench.demo",
    "derivation_board": "labkit.faces.live.boards",
    "derive": "labkit.theory.derivation",
    "distribution": "labkit.faces.distribution",
    "draw": "labkit.faces.schematic",
    "explain": "labkit.analysis.results",
    "flux": "labkit.faces.ring",
    "form": "labkit.faces.live.form",
    "guard_band": "labkit.faces.guard_band",
    "inductance_matrix": "labkit.analysis.characterise.matrix_results",
    "input_impedance": "labkit.theory.network",
    "input_inductance": "labkit.theory.network",
    "insertion_loss": "labkit.faces.modes",
    "meter_check": "labkit.analysis.meter_results",
    "modes": "labkit.faces.modes",
    "new_bench": "labkit.bench.bench",
    "next_reading": "labkit.analysis.results",
    "open_bench": "labkit.bench.bench",
    "plan": "labkit.analysis.planning",
    "practice_bench": "labkit.bench.practice",
    "predict": "labkit.analysis.results",
    "present": "labkit.faces.live.presenting",
    "read_card": "labkit.bench.card",
    "report": "labkit.faces.report",
    "shipped": "labkit.resources",
    "what_is": "labkit.faces.built",
    "wiring_board": "labkit.faces.live.boards",
    "work_out": "labkit.analysis.worked",
    "write_card": "labkit.bench.card_writing",
}


def __getattr__(name: str) -> object:
    """Import a public name when it is first used."""
    if name not in _HOME:
        raise AttributeError(f"module 'labkit' has no attribute {name!r}")
    from importlib import import_module

    value = getattr(import_module(_HOME[name]), name)
    globals()[name] = value
    return value


def __dir__() -> list[str]:
    return sorted({*globals(), *__all__})
