"""Sentences of packing, checking and reviewing what is handed in. They ask and advise; nobody is accused."""

# What cannot be opened
TOO_LARGE = "Not opened: {what} is larger than {limit}; leave out large attachments and pack again."
NOT_A_ZIP = "Not opened: this is not a whole zip file ({reason}); hand the file in again."
TOO_MANY = "Not opened: it lists {count} files, and at most {limit} are taken; leave out what the bench does not need."
OUTSIDE = "Not opened: the name {name} would lead outside the bundle's own folder, or cannot be a file everywhere; pack again."
LINK = "Not opened: {name} is a link or a special file, and only plain files are taken; pack the file itself."
ENCRYPTED = "Not opened: {name} is encrypted; pack again without a password."
METHOD = "Not opened: {name} is compressed in a way that is not taken here; pack again with labkit pack."
RATIO = "Not opened: {name} would grow far more in unpacking than any notebook does; pack again."
NOT_JSON = "{name} cannot be read as one JSON object in UTF-8 ({reason}); save it again and pack again."
NOT_AN_OBJECT = "it holds a {kind}"
NO_RECORD = "There is no record.jsonl in the bundle, so there is nothing to recompute; pack the bench folder with labkit pack."
MANIFEST_WRONG = (
    "The manifest cannot be taken: {field} is not as expected ({reason}); pack again with labkit pack."
)
RECORD_TOO_LONG = "The record is longer than {events} lines or {megabytes} MB, which no bench session is; split the work over several benches."
RECORD_EMPTY = "The record is empty."
PACK_AGAIN = "Pack the bench folder again with labkit pack and hand that file in."
UNFORESEEN = "labkit could not go on with this bundle ({kind}); that is a fault of labkit and says nothing about the work."
TELL_US = "Look at this one by hand, and report it to labkit's makers."
TOO_LONG = "Not finished within {seconds} s, so it was left; nothing is known about its content."
TOO_LONG_ADVICE = "Look at this one alone with labkit check, or give it more time."
TOO_MUCH = "Not opened, because it needs more than {limit} GB of memory, which no bench session does; nothing is known about its content."
DIED = (
    "Not opened, because the program that looked at it was ended twice; nothing is known about its content."
)
LOST = "Not opened, because the cluster could not finish it ({kind}); nothing is known about its content."
LOOK_ALONE = "Look at this one alone with labkit check."

# As packed
FILE_MISSING = "The manifest lists {name}, which is not there."
FILE_ADDED = "{name} is there, but the manifest does not list it."
FILE_CHANGED = "{name} is not the file that the manifest was made from."
OTHER_RECORD = "The record is not the one that the manifest was made from: its last line has another hash."
SURPLUS = "{count} bytes of the bundle belong to none of its files, as if something were added or two archives were joined."
CONTRADICTS = "The manifest says that the {name} of the record is {theirs}, the record says {ours}."
NOT_MADE = (
    "In it are also files that labkit did not make: {names}. Look at them yourself; nothing was made of them."
)
SAME_RECORD = "The same record, line for line, is in {names}. Was it handed in twice, or by a group together? Ask which one counts."
AS_PACKED_ADVICE = "Something changed after packing; an editor or an unpacking program may have done that. Ask for a newly packed bundle."

# The record
DAMAGED_ADVICE = "The chain shows that lines changed, not who changed them or why. Ask how it came about."
GAPS_ADVICE = "Somebody who wants to repeat this would have to ask. Add it to the record, and pack again."
BACKWARD = "The times do not run forward: {id} is stamped {utc}, and {other} before it {before}. A clock that was set wrong does that; the order of the lines counts."
ODD_YEAR = "{id} is stamped {utc}, a year in which no bench stands. A clock that was set wrong does that; the order of the lines counts."
NO_PART = "The record does not describe the part; bench.describe(...) or the form does."
NO_CAUTIONS = (
    "Nobody has accepted the cautions in the record; bench.accept_cautions(by=...) or the form does."
)
NO_READINGS = "The record holds no reading; bench.read(...) or the form enters one."
NO_FREQUENCY = (
    "No test frequency is recorded for {ids}; bench.correct(id, frequency=..., reason=...) adds it."
)
NO_CARD = "No accuracy card covers {ids}, so no uncertainty can be stated; enter the meter with its card, and name it with the reading."
NO_SINGLE = "Winding {windings} alone was not read."
NO_JOINT = "Both windings together were not read."
SWEEP_GAPS = "Not noted for {id}: {gaps}."
SWEEPS_TOO_LARGE = "The record has more than {count} sweeps, or they name more than {megabytes} MB or {lines} lines of files, which no bench session gives; split the work over several benches."
SWEEPS_ADVICE = "What these sweeps would give is left out. Put the file back as it was exported, or sweep again at the bench, and pack again."

# Units
UNREADABLE_ADVICE = "Nothing can be computed until that line can be read. Correct the reading at the bench with its reason, and pack again."
SINGLES_APART = "{one} reads {shown} and {two} reads {other}, several hundred times apart for two windings."
PREFIX = "{id} reads {shown}, {factor} what the other readings say, {expected}."
FACTOR = {1e-6: "a millionth of", 1e-3: "a thousandth of", 1e3: "1000 times", 1e6: "a million times"}
BEYOND = (
    "{id} reads {shown}, more than any pair with these windings can, whose uncoupled rule says {expected}."
)
UNITS_ADVICE = "This looks like a slip of the prefix or of the decimal mark, on one side or the other. Look at the display once more and correct the reading with a reason."

# Predictions
LATE = "{count} of {all} readings of both windings were entered before a prediction for their wiring: {ids}."
LATE_ADVICE = "A prediction says most when it comes first. It cannot be added afterwards; say in own words what was expected."

# Recomputing
DIFFERS = "{place}: the bundle says {claimed}, the record gives {computed}."
NOTHING = "nothing"
UNKNOWN_CLAIMS = "The manifest also claims {names}, which this labkit does not know and cannot compute anew. A newer labkit may know it."
TOO_MANY_CLAIMS = "The manifest claims more than {limit} numbers, which no record gives."
RECOMPUTED_ADVICE = "The numbers were computed anew from the raw readings. It was packed with labkit {theirs}: a changed record or another version may be behind it, so pack again and compare."
SWEEPS_UNCLAIMED = "The manifest claims nothing about the sweeps of this record, as those of an earlier labkit do, so there is nothing to compare with what they give."
NOTHING_TO_RECOMPUTE = "The readings allow no M and no k."
NOTHING_ADVICE = "Both windings alone and one reading of both together at one frequency are the least."
SUPPORTED_ADVICE = (
    "A verdict has to follow from the readings and their uncertainties. Pack again, and look at what changed."
)
NO_VERDICT = "No verdict with an uncertainty follows from this record."
NO_VERDICT_ADVICE = "Enter the meter's card; without one there is only how wrong the meter would have to be."
MISFIT = "The verdicts follow from the numbers, but {ids} and the other readings do not fit one pair."
MISFIT_ADVICE = "What really happened, the bench can say: ask what was clamped and what the display showed."

# Outputs
NO_OUTPUTS = "No notebook with stored outputs is in the bundle."
NO_OUTPUTS_ADVICE = "Run all cells, save the notebook, and pack again; the numbers above come from the record and do not need it."
OUTPUTS_DIFFER = "{count} of {all} findings that this record gives do not stand in the notebook's stored outputs. The first is: {first}"
OUTPUTS_ADVICE = "The outputs may be older than the record. Run all cells, save, and pack again."
NO_REPORT = "No report.html is in the bundle; `labkit report` makes it from the record at any time."
REPORT_DIFFERS = "report.html says {theirs} where the record gives {ours}."
REPORT_ADVICE = "The report may be older than the record. Pack again, which makes it anew."
REPORT_OTHER = (
    "It was made with labkit {theirs}, which may say things in other words; read the two side by side."
)

# Own words
NO_WORDS = "Nothing is written in own words; bench.write(topic, text, by=...) or the form takes them."
NO_WORDS_ADVICE = (
    "A few sentences on what was expected, what was seen and what convinced you belong to the record."
)

CANNOT_TELL = "This cannot be worked out: {reason}"
MORE = "And {count} more of this kind."
AND_MORE = " and {count} more"

COLUMN = {
    "opens": "opens",
    "as_packed": "files as packed",
    "complete": "record complete",
    "units": "units sane",
    "predicted": "prediction before reading",
    "recomputed": "recomputation agrees",
    "supported": "verdict supported by the numbers",
    "outputs": "outputs from this record",
    "own_words": "own words present",
}
OUTCOME = {"yes": "yes", "no": "no", "cannot tell": "cannot tell"}
REMARKED = "remark"
CHECK_HEADER = ("question", "found")
KEY = "Recomputed from these readings: M = {M}, k = {k}."

# Packing
PACKED = "Packed {count} files into {file} ({size} kB). The same folder packs into the same bytes again."
SOUND = "Nothing stands against handing it in."
LEFT_OUT = "Left out: {names}, because only plain files with harmless names are packed."
RENAME = "Nothing was packed, because not every computer could unpack it: {names}"
DEVICE = "{name} is a name that some systems keep for a device; rename it."
NOT_A_NAME = "{name} has a character or an end that some systems do not take; rename it."
ALIKE = "{name} and {other} are the same name on some systems; rename one of them."
ABSOLUTE = "{name} names the absolute path '{path}', which another computer does not have; keep the file in the bench folder and name it from there."
STALE = "{name} does not show {count} of the {all} findings that the record gives; run all cells, save, and pack again."
NO_NOTEBOOK = "There is no notebook in the folder; the record alone is packed."
REBUILT = "Everything was rebuilt from the record in a clean process and gives the same numbers."
NOT_REBUILT = "Rebuilding from the record in a clean process did not succeed: {reason}"
REBUILT_OTHERWISE = "a clean process gives other numbers or another report; restart, and pack again."
TOOK_TOO_LONG = "it was not done within {seconds:g} s."
NOTEBOOK_RAN = "{name} ran from top to bottom in a clean process."
NOTEBOOK_FAILED = "{name} stops in a clean process: {reason}"
NOT_RUN = "The notebooks were not run, as asked; they are packed as stored."
FOLDER_TOO_LARGE = "{folder} holds {size} MB or {count} files to pack, and at most {limit} MB and {most} files are taken; nothing was written, so move large attachments elsewhere and name them in your own words."
ANOTHERS = "{file} is there already and is somebody else's, so it was not replaced; name another file with --out, and tell your lecturer if this name should be yours."
CANNOT_WRITE = "{file} was NOT written ({reason}); choose a folder that you may write to."

# Reviewing
UNREAD_FOLDERS = "Folders that could not be read: {count}. What lies in them is missing here; look again as somebody who may read them."
PROGRESS = "bundles"
REVIEWED = "{count} bundles looked at in {seconds} s: {clear} without a remark, {remarks} with remarks, {shut} not opened."
WRITTEN = "Table in {table}, page with draft feedback in {page}."
KEPT = "What stood there before was kept: {files}."
TITLE = "Review of what was handed in"
INTRO = (
    "Each bundle was opened in memory and its results computed anew from its own raw readings. No code of a submission was "
    "run. The sentences are drafts for a person to read; none is a mark, and own words are for a person to judge."
)
SUMMARY = "{count} bundles: {clear} without a remark, {remarks} with remarks, {shut} not opened."
BUNDLE, PART, MUTUAL, COEFFICIENT = "bundle", "part", "M", "k"
FEEDBACK = "draft feedback"
FOUND = "to look at"
SHUT = "not opened"
OPEN_FILE = "open the file"
BACK = "back to the table"
NO_FEEDBACK = "Nothing to remark."
TABLE_CAPTION = "What was found, a row a bundle"
