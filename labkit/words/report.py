"""Sentences of the report, the command line and the start of a bench."""


# Headings and sentences of the report.

GENERATOR = b'<meta name="generator" content="labkit '  # by which a report is known again
HEAD = 1000  # bytes of a report within which that stands

TITLE = "{part}: report"
INVENTED = "Invented data"
INVENTED_NOTE = "Nobody measured this: the record says that its data are invented."
DEMO = "Made from the demo record that labkit ships with."
SUBTITLE = "What was measured, predicted, compared and explained"
NO_NAME = "a part without a name"
PROBLEMS = "The record is not sound"
PROBLEMS_NOTE = "Whatever follows rests on the lines that could be read."
CONTENTS = "Contents"
SCROLL = "Table, wider than a narrow window: {caption}"

FINDINGS = "Findings"
SWEEPS = "This record holds {count} sweeps as well: labkit.characterisation_report lays them out."
NO_FINDINGS = "There is nothing to say about this record yet."
RESTS_ON = "rests on"

PICTURE = "Readings and predictions"

CONDITIONS = "Part and conditions"
PART_CAPTION = "The part"
CONDITIONS_CAPTION = "Under what conditions it was read"
CARD_CAPTION = "Accuracy of {meter} by its card: ±(percent of the reading + digits)"
CARD_HEADER = ("quantity", "range", "up to", "one digit", "accuracy", "at")
CARD_ACCURACY = "{percent:g} % + {digits:g}"
FACT = "what"
ANSWER = "recorded"
NOT_RECORDED = "not recorded"
NOT_KNOWN = "asked, not known"
EVERY = "every reading"
LINE = "line {line}"
LINES = "lines {lines}"

NAME = "name"
FIELDS = {
    "title": "title",
    "description": "description",
    "windings": "windings",
    "family": "family",
    "dots": "dotted ends",
    "turns": "turns",
    "core": "core",
    "frequency": "test frequency",
    "mode": "equivalent circuit shown",
    "meter": "meter",
    "leads": "leads",
    "test_level": "test level",
    "temperature": "temperature",
    "humidity": "humidity",
    "correction": "correction",
    "bias": "bias",
    "place": "place",
    "largest_meter_error": "largest error reckoned with where no card says it",
    "note": "note",
    "wiring": "wiring",
    "shown": "display",
    "second": "second display",
    "quantity": "quantity",
    "repeat": "repeat",
    "part": "part",
    "by": "entered by",
}
CARD = "card of {meter}"
NO_CARD = "none, so no uncertainty is stated"
CARD_TITLE = "{title}, {source}"
CALIBRATED = "calibration of {meter}"
CALIBRATED_ON = "calibrated {date}"
CALIBRATION_DUE = "due {date}"
LEADS_RESIDUAL = "lead residual of {meter}"
RESIDUAL = "{inductance}, known to ±{limit}"
CAUTIONS_BY = "cautions accepted by"
NOBODY = "nobody"
DOTS_DECIDED = "not known; the readings decide for {dots}"

READINGS = "Readings"
READINGS_CAPTION = "Every reading ever entered, as shown on the display"
READINGS_HEADER = ("reading", "wiring", "display", "how it was read")
NO_READINGS = "No reading has been entered yet."
READ_AS = "read as {value}"
WITHDRAWN = "withdrawn, does not count"
WITHDRAWAL = "Withdrawn in line {line}"
CORRECTION = "Corrected in line {line}"
REASON = "Reason:"
BEFORE_PREDICTION = "read before a prediction for this wiring"
DEPENDS_ON_DOTS = "aiding or opposing, as the dots are not known"

PREDICTIONS = "Predictions"
OWN_CAPTION = "Own predictions, locked when they were entered"
OWN_HEADER = ("prediction", "wiring", "value", "by", "entered", "line")
NO_OWN = "Nobody committed a prediction of their own."
NO_RULE = "The rules predict nothing yet."

COMPARISON = "Comparison"
NO_COMPARISON = "There is nothing to compare yet."
CLOSURES = "Closures"
NO_CLOSURES = "The readings allow no closure yet."
COUPLING = "M and k by every route"
NO_COUPLING = "The readings allow no route to M and k yet."

BUDGET = "Uncertainty budget"
NO_BUDGET = "There is no coupled prediction with a stated uncertainty, so there is no budget."
SOURCES_CAPTION = "The same by source of error: {what}"
SOURCES_HEADER = ("source", "distribution", "contribution")
TRUST = "Monte Carlo, {draws} draws, seed {seed}: {value}, 95 % of them from {low} to {high}. {verdict}"
TRUSTED = "First order agrees with it in value and standard uncertainty within a tenth of the latter."
NOT_TRUSTED = (
    "First order is off by more than a tenth of the standard uncertainty, so quote Monte Carlo here."
)

DERIVATION = "Derivation"
DERIVATION_NOTE = "For each wiring that was read, from one equation a winding to the formula."
NO_DERIVATION = "No wiring has been read yet."
MANY_WINDINGS = (
    "A report derives wirings of up to {most} windings, and this part has {windings}; "
    "labkit.derive writes out the one that you ask for."
)
OWN_WORDS = "In their own words"
NO_OWN_WORDS = "Nobody has written anything yet."
BY_AT = "{by}, line {line}"
ANONYMOUS = "not said by whom"

PROVENANCE = "Where this comes from"
PROVENANCE_CAPTION = "What is needed to make this report again"
RECORD = "record"
RECORD_LINES = "{events} events, last one {utc}"
RECORD_EMPTY = "no event"
BEGUN = "record begun"
BEGUN_WITH = "{utc} with labkit {labkit}"
DIGEST = "hash of the last event"
DIGEST_NOTE = "The hash shows the order of the events and later edits. It proves nobody's honesty."
SCENARIO = "scenario"
SEED = "seed of the invented readings"
VERSIONS = "made with"
MONTE_CARLO = "Monte Carlo"
MONTE_CARLO_DRAWS = "{draws} draws, seed {seed}"
MONTE_CARLO_NONE = "not used: no uncertainty to draw from"

WRITTEN = "Report written to {file}, about {size} kB."
NOT_WRITTEN = "Report of about {size} kB, not written to a file yet; give a file name, such as report.html."
NO_FOLDER = "The report cannot be written to '{file}': there is no folder '{folder}'; make it first, or give another place."


# What the command line says.

DESCRIPTION = "Inductance experiments with coupled windings: record in, findings and report out."
CLI_DEMO = "compare and explain the invented demo record, and write its report"
SUMMARY = "print what a bench folder's record says"
REPORT = "write the report of a bench folder"
NEW = "start a bench folder for a part, with its record and notebook"
OPEN = "open a bench folder's notebook in JupyterLab, apart from your own Jupyter settings"
NOTEBOOK = "notebook to open; else coupled_pair.ipynb, or the only one there"
PORT = "port to listen on; else a free one"
NO_BROWSER = "only print the address"
FOLDER = "folder that holds record.jsonl"
OUT = "HTML file to write"
NEW_FOLDER = "folder to make"
PART = "name of the part under test, such as sample-7"
CLI_CARD = "meter card (TOML file) to enter as meter-a"
CLI_WRITTEN = "Report written to {file}"
CHARACTERISED = "Characterisation written to {file}"
STOPPED = "Stopped before it was done."
CREATED = "Bench for {part} in {folder}. {how}"
OPEN_IT = "Open it with: labkit open {folder}"

PACK = "check a bench folder and pack it into one file to hand in"
PACKING = (
    "Computing everything anew in a clean process and running the notebooks there; that can take a minute."
)
PACKING_QUICK = "Computing everything anew in a clean process."
PACK_OUT = "file to write; else NAME.bundle.zip in the folder"
QUICK = "do not run the notebooks first"
CHECK = "check one bundle: everything computed anew from its readings, nothing of it run"
CHECK_EXIT = "Exit code: 0 if there is nothing to remark, 1 if there is, 2 if the bundle cannot be opened."
BUNDLE = "bundle file"
REVIEW = "look at all bundles of a folder: one table, one page with draft feedback"
BUNDLES = "folder of bundles, or one archive that holds them"
REVIEW_OUT = "folder for review.csv and review.html; else beside the bundles"
JOBS = "bundles at once; else all cores"
TIMEOUT = "seconds for one bundle"
CLUSTER = "address of a running dask scheduler that sees the same files"
NEW_NOTEBOOK = "shipped notebook to start with"


# What starting a bench folder says.


# What opening a bench in JupyterLab says.

OPENED = "{notebook} is open in JupyterLab at\n\n    {address}\n"
STOP = "Press Ctrl+C in this window to stop; what was entered is in the record already."
OPENING_NO_BROWSER = "No browser was opened: copy the address into one on this machine."
OPENING_STOPPED = "JupyterLab has stopped."

IN_HUB = (
    "{notebook} opens in your browser at\n\n    {address}\n\n"
    "Put this behind the name of your hub, in place of all that follows the name now. Nothing new was started."
)
HUB_NO_ROOT = "Open {notebook} from the list of files in your browser; nothing new was started."
HUB_OUTSIDE = (
    "Your browser cannot reach {notebook}: your hub shows only what lies below {root}, and no hidden folder. "
    "Move the bench folder there, then open it again."
)

NOTHING = "no notebook at all"
SILENT = "nothing"
