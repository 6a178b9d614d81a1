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
    from labkit.analysis.advice import plan
    from labkit.analysis.meter_check import meter_check
    from labkit.analysis.results import amounts, budget, compare, explain, next_reading, predict
    from labkit.analysis.worked import work_out
    from labkit.choke.matrix import inductance_matrix
    from labkit.faces.choke_report import characterisation_report, characterise
    from labkit.faces.class_charts import class_dots, class_scores
    from labkit.faces.comparison_chart import comparison
    from labkit.faces.coupling_scale import coupling_scale
    from labkit.faces.mode_report import insertion_loss, modes
    from labkit.faces.report import cautions, report
    from labkit.faces.ring import flux
    from labkit.faces.schematic import draw
    from labkit.faces.uncertainty_charts import budget_bars, distribution, guard_band
    from labkit.faces.wiring_name import what_is
    from labkit.handin.class_results import class_results
    from labkit.record.bench import new_bench, open_bench
    from labkit.record.card import read_card
    from labkit.record.card_entry import write_card
    from labkit.record.demo import demo_bench, practice_bench
    from labkit.resources import shipped
    from labkit.theory.derivation import derive
    from labkit.theory.network import input_impedance, input_inductance
    from labkit.theory.pair import Pair
    from labkit.widgets.boards import derivation_board, wiring_board
    from labkit.widgets.card_form import card_form
    from labkit.widgets.form import form
    from labkit.widgets.presentation import present

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
    "budget_bars": "labkit.faces.uncertainty_charts",
    "card_form": "labkit.widgets.card_form",
    "cautions": "labkit.faces.report",
    "class_dots": "labkit.faces.class_charts",
    "class_results": "labkit.handin.class_results",
    "class_scores": "labkit.faces.class_charts",
    "characterisation_report": "labkit.faces.choke_report",
    "characterise": "labkit.faces.choke_report",
    "compare": "labkit.analysis.results",
    "comparison": "labkit.faces.comparison_chart",
    "coupling_scale": "labkit.faces.coupling_scale",
    "demo_bench": "labkit.record.demo",
    "derivation_board": "labkit.widgets.boards",
    "derive": "labkit.theory.derivation",
    "distribution": "labkit.faces.uncertainty_charts",
    "draw": "labkit.faces.schematic",
    "explain": "labkit.analysis.results",
    "flux": "labkit.faces.ring",
    "form": "labkit.widgets.form",
    "guard_band": "labkit.faces.uncertainty_charts",
    "inductance_matrix": "labkit.choke.matrix",
    "input_impedance": "labkit.theory.network",
    "input_inductance": "labkit.theory.network",
    "insertion_loss": "labkit.faces.mode_report",
    "meter_check": "labkit.analysis.meter_check",
    "modes": "labkit.faces.mode_report",
    "new_bench": "labkit.record.bench",
    "next_reading": "labkit.analysis.results",
    "open_bench": "labkit.record.bench",
    "plan": "labkit.analysis.advice",
    "practice_bench": "labkit.record.demo",
    "predict": "labkit.analysis.results",
    "present": "labkit.widgets.presentation",
    "read_card": "labkit.record.card",
    "report": "labkit.faces.report",
    "shipped": "labkit.resources",
    "what_is": "labkit.faces.wiring_name",
    "wiring_board": "labkit.widgets.boards",
    "work_out": "labkit.analysis.worked",
    "write_card": "labkit.record.card_entry",
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
