"""Sentences of prediction, comparison, findings and advice."""


# Sentences of findings. Every number in them comes from the readings of the record.

REFUTED = (
    "{what}: the reading is {reading}; two inductors that share no flux would give {uncoupled}. The "
    "discrepancy {discrepancy} is {times} times its expanded uncertainty, so the uncoupled rule is refuted here."
)
REFUTED_IF_BUILT = (
    "{what}: the reading is {reading}; two inductors that share no flux would give {uncoupled}. The discrepancy "
    "{discrepancy} is {times} times its expanded uncertainty; but {alone} would read the same, so this refutes the "
    "uncoupled rule only if both windings are in circuit."
)
REFUTED_OR_NOT = (
    "{what}: the reading {reading} agrees with what two inductors that share no flux would give, {uncoupled}, or not, "
    "depending on whether the meter's gain error is the same for all readings on a range (E_n = {E_n})."
)
NOT_REFUTED = (
    "{what}: the reading {reading} agrees with what two inductors that share no flux would give, {uncoupled} "
    "(E_n = {E_n})."
)
REFUTED_WITHOUT_CARD = (
    "{what} reads {reading}: {size} two inductors that share no flux, {uncoupled}. They share their flux; the resistor rule "
    "does not hold. {All} would have to be wrong by {error} at once for it to hold."
)
REFUTED_IF_BUILT_WITHOUT_CARD = (
    "{what} reads {reading}: {size} two inductors that share no flux, {uncoupled}. The resistor rule does not hold, unless "
    "this was {alone}: that would read the same. {All} would have to be wrong by {error} at once for it to hold."
)
OPEN_WITHOUT_CARD = (
    "{what} reads {reading}; two inductors that share no flux would give {uncoupled}. Cannot tell without a card: a meter "
    "wrong by {error} would make the rule hold ({reason})."
)
HOLDS_TO_THE_DIGIT = (
    "{what} reads {reading}; two inductors that share no flux would give {uncoupled}. The resistor rule holds as far as these "
    "digits show."
)
NO_COUPLING = (
    "They share no flux to speak of: in line the meter reads {one} one way round and {other} the other way. If its error is "
    "the same in both readings, |k| is at most {k}; if each is wrong by up to {bound} on its own, at most {most}."
)
COUPLED_FAILS_WITHOUT_CARD = (
    "{what}: the coupled rule says {coupled}, the meter reads {reading}. {All} would have to be wrong by "
    "{error} at once. Check this wiring, its unit and the frequency first."
)
COUPLED_TO_THE_DIGIT = "{what}: the coupled rule says {coupled}, the meter reads {reading}. They agree as far as these digits show."
COUPLED_OPEN = (
    "{what}: the coupled rule says {coupled}, the meter reads {reading}. A meter wrong by {error} explains the difference; "
    "whether this one is, only a card says."
)
COUPLED_HOLDS = "{what}: the coupled rule, from {route}, says {coupled}; the reading {reading} is consistent with it (E_n = {E_n})."
COUPLED_AMONG_OTHERS = (
    "{what}: the coupled rule, from {route}, says {coupled}, and the reading {reading} is consistent with it "
    "(E_n = {E_n}); so it is with {rivals}, and this reading alone cannot tell."
)
COUPLED_FAILS = (
    "{what}: the coupled rule, from {route}, says {coupled}, but the reading is {reading} (E_n = {E_n}). They do not fit "
    "together with or without a shared gain error: check this wiring, its unit and the frequency before anything else."
)
COUPLED_STRAINED = (
    "{what}: the coupled rule, from {route}, says {coupled}; the reading is {reading} (E_n = {E_n}), further off than the "
    "expanded uncertainty. All readings taken together still fit. Read this wiring once more: then you see whether it was chance."
)
COUPLED_DEPENDS = (
    "{what}: the reading {reading} fits the coupled rule, {coupled}, or not, depending on whether the meter's gain error is "
    "the same for all readings on a range (E_n = {E_n}); this record cannot decide that."
)
COUPLING = (
    "Mutual inductance M = {M} and coupling coefficient k = {k}, from {route}; 1 − k = {gap}. "
    "The ± holds whether the meter's gain error is the same for all readings on a range or differs from reading to reading."
)
COUPLING_BOUNDED = (
    "The windings share their flux: k is at least {k}, even if the meter is wrong by {bound}. The mutual inductance M is about "
    "{M}, and between {low} and {high} with such a meter."
)
GAP_BOUNDED = "1 − k is at most {gap} then."
COUPLING_OPEN = (
    "Whether the windings share flux, these readings cannot tell without a card: a meter wrong by {error} would do for none. "
    "With a meter wrong by up to {bound}, |k| is at most {k}."
)
COUPLING_SMALL = (
    "These digits show no shared flux. With a meter wrong by up to {bound}, |k| is still at most {k}."
)
UNRESOLVED_ROUTE = "By {route}, k = {k}: {status}."
POLARITY_HOLDS = "M is positive with the dots at {dots}: current into both dotted ends adds its flux."
POLARITY_FAILS = (
    "With the dots taken at {dots}, M comes out negative ({M}). Either one dot is marked at the wrong end, or one "
    "winding was reversed in the wiring: compare the clips with the schematic."
)
POLARITY_DECIDED = "The dots were not marked; the readings put them at {dots}, where M is positive ({M})."
POLARITY_OPEN = "The dots are not known, and the readings so far do not tell which ends belong together."
POLARITY_MIRRORED = (
    "The dots were not marked, and the readings fit neither way as entered: which ends belong together stays open until the odd "
    "reading is found."
)
POLARITY_UNSTATED = (
    "The dots are not marked, and without a card the readings cannot tell which ends belong together: a meter wrong by {error} "
    "would turn the answer round. Enter the meter's card, or mark the dots."
)
POLARITY_CONTRADICTORY = (
    "The dots are not marked, and the readings fit neither way of marking them, not even with a meter wrong by {bound}: one of "
    "them is not what was entered."
)
POLARITY_DECIDED_WITHOUT_CARD = (
    "The dots were not marked; the readings put them at {dots}. For the other way round, all readings would have to be wrong "
    "by {error} at once."
)
POLARITY_HOLDS_WITHOUT_CARD = (
    "M is positive with the dots at {dots}: current into both dotted ends adds its flux. For the opposite, all readings would "
    "have to be wrong by {error} at once."
)
POLARITY_FAILS_WITHOUT_CARD = (
    "With the dots at {dots}, M comes out negative. One dot is marked at the wrong end, or one winding was reversed in the "
    "wiring: compare the clips with the schematic. For M to be positive, all readings would have to be wrong by {error} at once."
)
CLAMP_UNPROVEN = (
    "The parallel-aiding reading {reading} does not prove that both clamps hold: {rivals} would read the same within the "
    "uncertainty."
)
CLAMP_GAPS = "It should differ from winding 1 alone by {from_1} and from winding 2 alone by {from_2}."
CLAMP_CURE = (
    "Reverse one winding and read again: about {both} if both clamps hold, about {one} if one is open."
)
CLAMP_OPEN = (
    "With one winding reversed the reading is {reversed}. That is what {rivals} would give, and not what both windings "
    "would: one clamp was open there."
)
CLAMP_UNSETTLED = (
    "The reading with one winding reversed, {reversed}, is neither what both windings would give nor one alone, so it "
    "does not settle the clamps either; read it again."
)
CLAMP_CURE_UNKNOWN = (
    "Reverse one winding and read again: about {one} once more if one clamp is open, much less if both hold and the "
    "windings are tightly coupled."
)
CLAMP_PROVEN_BY = "With one winding reversed the same clamps read {reversed}, which one winding alone cannot give: there both clamps held."
CLAMP_SEEN = (
    "The parallel-aiding reading {reading} also tells itself apart from either winding alone (E_n = {E_1} and {E_2}), so "
    "both clamps held."
)
MODES = (
    "What the part is for: a common-mode current meets {common}, a differential-mode current {differential}, which is "
    "{ratio} times less.{at_frequency}"
)
MODES_AT = " At {frequency} that is {Z_common} against {Z_differential}, winding resistance left out."
LEAKAGE = (
    "Leakage has three meanings: √(L1 L2)(1 − k) = {per_winding}, of one winding if both are alike; the differential-mode "
    "loop B = {loop}; winding 1 with winding 2 shorted, L1(1 − k²) = {shorted}. Always say which. Of B, "
    "(√L1 − √L2)² = {mismatch} is mismatch of the windings: it stays even at k = 1."
)
FIRST_ORDER_FAILS = (
    "{what}: first order is not to be trusted for this prediction. It says {first_order}; Monte Carlo gives "
    "{monte_carlo}, with a 95 % interval from {low} to {high}."
)
INVALID_DRAWS = (
    "{count} of {draws} draws have |k| > 1, which no passive pair can have: the route {route} does not keep inside physics "
    "with these uncertainties."
)
CLOSURE_FAILS = (
    "The closure {title} fails (E_n = {E_n}): one of the readings {ids} does not belong to the same part under the same "
    "conditions, or one is a slip."
)
CLOSURE_STRAINED = "The closure {title} is off by more than its expanded uncertainty (E_n = {E_n}). All readings taken together still fit."
CLOSURE_DEPENDS = (
    "The closure {title} holds or fails depending on whether the gain error is shared (E_n = {E_n})."
)
BEFORE_PREDICTION = "Read before a prediction for its wiring was committed: {ids}."
OWN = "Own prediction for {what}: {own}; the reading is {reading}, a discrepancy of {discrepancy}."
OWN_AFTER = "Own prediction for {what}: {own}, entered after the reading {reading}. So it predicts nothing and is not compared."
CORRECTED = "{id} was corrected after entry; the first entry stays in line {line} of the record."
ALONE = (
    "Not compared: {ids}, because no winding has a usable reading of its own at the same test frequency; repeat the "
    "readings at one frequency."
)
MISSING = "Still missing for the comparison: {missing}."
MORE_WINDINGS = "The part has {windings} windings; the rules compared here are for two, so its readings are listed without a verdict."
WITHDRAWN = (
    "{id} was withdrawn in line {line} and does not count; its entry stays in the record. Reason: “{reason}”"
)
REMARK = "{ids}: {remark}."
MISSING_SINGLE = "{what} ({wiring})"
MISSING_TOGETHER = "both windings together in at least one wiring, best one in line with one winding reversed"

HEADINGS = {"strong": "Results", "caution": "To check or do next", "plain": "In detail"}
COUPLING_IN_DOUBT = "This takes every reading behind it as entered; something in the record does not fit, so settle that first."


# Sentences of statements, verdicts and closures.

STATEMENT = {
    "coupled": "coupled",
    "uncoupled": "uncoupled",
    "only winding 1": "winding 1 alone",
    "only winding 2": "winding 2 alone",
}
VERDICT = {
    "consistent": "consistent",
    "inconsistent": "inconsistent",
    "depends on gain": "depends on whether the gain error is shared",
    "cannot tell": "cannot tell",
    "no uncertainty stated": "no uncertainty stated",
}
RIVALS = "cannot tell from: {rivals}"
CLOSURE = {
    "series_sum": "series-aiding + series-opposing = 2 (winding 1 + winding 2)",
    "quarter_law": "parallel-aiding / series-aiding = parallel-opposing / series-opposing",
    "short_circuits": "short-circuit 1 / winding 1 = short-circuit 2 / winding 2",
    "product": "parallel-aiding × series-opposing = short-circuit 1 × winding 2",
}
NO_VALUE = (
    "The {rule} rule gives no finite value for {what} from {readings}: it divides by zero there. So it is left out; "
    "check these wirings and units."
)
BREAK_EVEN = "the meter would have to be wrong by {percent} % of this reading"
BREAK_EVEN_AMOUNT = "the meter would have to be wrong by {amount}"
BREAK_EVEN_FACTOR = "the meter would have to be wrong by a factor of {factor}"
TITLE = "Every reading against every statement"
HEADER = ("reading", "statement", "it says", "discrepancy", "E_n", "verdict")
CLOSURES_TITLE = "Closures: what must hold between the readings, whatever the pair"
CLOSURES_HEADER = ("relation", "difference", "E_n", "verdict")
ROUTES_TITLE = "M, k and leakage by every route"
ROUTES_HEADER = ("route", "M", "k", "1 − k", "L(1 − k)", "B (differential mode)", "L1(1 − k²)", "status")
NOTE = (
    "Discrepancy: reading minus statement. E_n: discrepancy over its expanded uncertainty (coverage factor 2), covariance "
    "included; |E_n| ≤ 1 is consistent. Two values stand for a gain error shared within a range, and for one of its own in "
    "each reading. MC: first order is not to be trusted there, and the verdict is by Monte Carlo."
)
ROUTES_NOTE = "± is the wider of two: for a gain error that all readings on a range share, and for one of its own in each reading."
MONTE_CARLO = "MC"

TIMES_LESS = "{ratio} times less than"
TIMES = "{ratio} times as much as"

# Without a card: how wrong the meter would have to be
PERCENT = "{percent} %"
FACTOR = "a factor of {factor}"
BEYOND = "more than any factor"
COMPARE_REFUTED = "does not hold: {all} would have to be wrong by {error} at once"
ALL = {1: "this reading", 2: "both readings", 3: "all {count} readings"}
FITS_DIGITS = "holds as far as these digits show"
OPEN = "cannot tell without a card: a meter wrong by {error} would do"
NO_CARD = (
    "Without a card we ask how wrong the meter would have to be. A statement is refuted only if all its readings at once "
    "would have to be wrong by more than {bound}, which no LCR meter is; the last digit shown may be one off besides."
)
OR = " or "
READS_UNCOUPLED = "As if no flux were shared: the resistor rule holds to these digits."
READS_OPEN = "{size} without shared flux: cannot tell without a card."
READS_OPEN_ERROR = "A meter wrong by {error} would do for the resistor rule."
READS_COUPLED = "{size} without shared flux: the resistor rule does not hold."
READS_UNLESS = "{size} without shared flux, unless this is one winding alone."
READS_RIVALS = "The reading would be the same with {rivals}."
READS_NEITHER = "{size} without shared flux: neither rule holds."
READS_CHECK = "Check wiring, unit and frequency."
READS_BREAK_EVEN = "{All} would have to be wrong by {error} at once."


# Sentences and headings of predictions.

PREDICT_TITLE = "What each connection should read"
PREDICT_HEADER = ("connection", "wiring", "own", "uncoupled", "coupled", "95 % (Monte Carlo)")
ROUTE = "The coupled rule rests on {route} ({ids})."
UNSTATED = "Without a stated uncertainty: {reasons}."
INPUT = "rests on it"
DOTS = "The dots are not marked on the part; the readings decide for {dots}."
DOTS_UNDECIDED = (
    "The dots are not known and the readings do not decide, so aiding and opposing cannot be told apart yet. "
    "The uncoupled prediction needs no dots."
)
BUDGET_TITLE = "Uncertainty budget of {what} by the coupled rule"
BUDGET_HEADER = ("input", "value", "standard uncertainty", "sensitivity", "contribution")
BUDGET_SHARED = "shared between inputs (covariance)"
BUDGET_TOTAL = "combined standard uncertainty"
NO_WINDINGS = "Predictions by rule are for two windings; this part has {windings}."
NO_BUDGET = "There is no uncertainty budget of {what} by the coupled rule yet."
NO_ROW = "Nothing is predicted for {what}."
NO_RULE = "No rule says anything about {wiring} yet."


# Sentences about the routes from readings to M and k.

NAME = {
    "series_opposing": "singles and series-opposing",
    "series_aiding": "singles and series-aiding",
    "both_series": "both series readings",
    "short_circuit_1": "singles and winding 1 with 2 shorted",
    "short_circuit_2": "singles and winding 2 with 1 shorted",
    "parallel_opposing": "singles and parallel-opposing",
    "parallel_aiding_high": "singles and parallel-aiding, larger root",
    "parallel_aiding_low": "singles and parallel-aiding, smaller root",
}
RESOLVED = "resolved"
NOT_RESOLVED = "not resolved by this route, since 1 − k = {gap} has an expanded uncertainty of {U}"
UNPHYSICAL = (
    "not resolved by this route, since |k| would exceed 1, which no passive pair has; it is shown unclipped"
)
IMPOSSIBLE = (
    "|k| exceeds 1 by more than its expanded uncertainty, so these readings do not belong to one pair as they stand; "
    "check wiring and units"
)
NO_SOLUTION = "these readings as they stand ({detail}) do not settle M: this route resolves nothing here"
ROUTES_UNSTATED = "no uncertainty stated, so it cannot be said whether this k is resolved"
BETWEEN = "{low} to {high}"
BOUNDED = "|k| from {between} if the meter is wrong by up to {bound}"
TWO_ROOTS = "the parallel-aiding reading has two solutions for M; this is one of them"
PREFER = "Preferred route: {route}, because it gives 1 − |k| with the smallest uncertainty ({gap})."
PREFER_UNSTATED = (
    "Preferred route: {route}, because a small inductance read directly needs no difference of large ones."
)

BRIEF = {
    "resolved": "resolved",
    "two roots": "one of two solutions",
    "not resolved": "not resolved",
    "beyond": "not resolved: k above 1",
    "unstated": "no uncertainty stated",
    "no solution": "no solution",
}
WHY = "{route}: {status}."


# Sentences about what the readings amount to.

NO_METER = "no meter is recorded"
OBSERVATIONS_NO_CARD = "the meter {meter} has no card"
CONVERTED = "read in parallel mode and converted to the series equivalent with its own D = {D:.4g}"
PARALLEL_UNCONVERTED = (
    "read in parallel mode; the series equivalent is smaller by a factor 1 + 1/Q², but no Q or D was recorded, so the "
    "reading is used as it stands"
)
COARSER = (
    "shown to {shown}, though the meter's digit on this range is {digit}: digits seem to have been left out"
)
NO_MODE = "the meter's mode is not recorded; taken as the series inductance, which a parallel one exceeds by a factor 1 + 1/Q²"
NOT_POSITIVE = (
    "zero or negative, which no passive winding has at low frequency; nothing is worked out from it"
)
LEADS_NOT_ZEROED = (
    "the leads were not zeroed, so their inductance is in the reading; it counts most in small ones"
)
NO_FREQUENCY_AT_ALL = "no test frequency is recorded; all readings are taken to have the same one"
NO_FREQUENCY = "no test frequency is recorded; it is compared as if read at {frequency} like the others"
NOT_USED = "not an inductance, takes no part in the comparison"
REPEATS_DISAGREE = "the repeats lie {spread} apart, more than the meter's limits of ±{limit} can explain; they may not be of one wiring or one part"


# Sentences of the joint fit.

NOT_IDENTIFIED = "The readings {readings} do not identify a pair. {missing}"
ONE_MORE = "Open: {open}. Any one further reading of these would settle it: {either}."
MORE = "Open: {open}. What would settle it, all of them read: {all_of}."
AMOUNT_NOT_IDENTIFIED = (
    "The readings {readings} identify the pair, and say nothing about the {amount} beside it."
)
AT_LIMIT = (
    "The readings {readings} fit best at k = 1, the very limit of what a passive pair can be, so they do not resolve how far "
    "below it k is. A reading in line with one winding reversed (series-opposing) does."
)
NOT_CONVERGED = (
    "No pair was found that the readings {readings} settle on; look for a contradiction among them first."
)
FOLLOWS = "and what follows from them"
NONE = "(none)"


# Sentences about amounts: influences that have a size, not a yes or no.

AMOUNTS_TITLE = {
    "lead inductance": "lead inductance in series with the clips",
    "capacitance": "capacitance across the clips",
    "self-capacitance": "self-capacitance across each winding",
    "board capacitor": "capacitor left across the line on a board",
    "shorting resistance": "resistance of the shorted loop",
    "level": "change of the core with the flux (half as large in series-aiding, for a meter that holds its voltage)",
    "core change": "change of the core between single and joint readings (remanence, handling)",
    "drift": "drift of the core from one reading to the next",
}
NEEDED = "{title}: {size} would bring the readings together best, {verdict}."
AT_MOST = "{title}: anything up to {size} would fit, and the readings do not ask for any."
SQUARE_NEGATIVE = "{title}: the short-circuit readings are smaller than without any, which no resistance explains; something else is more likely."
INSIDE = "which is within twice its uncertainty: the readings do not ask for any"
TOO_WIDE = "which is too uncertain to say anything about a usual size ({usual})"
OUTSIDE = "which is more than twice its uncertainty and {plausible}"
PLAUSIBLE = "of a plausible size ({usual}); to find out, {cure}"
IMPLAUSIBLE = "not of a plausible size ({usual}), so something else is more likely"
USUAL = {
    "lead inductance": "0 to 2 µH for leads that were not zeroed",
    "capacitance": "1 pF to 200 pF for windings and leads",
    "self-capacitance": "1 pF to 200 pF for a winding",
    "board capacitor": "10 nF to 2 µF",
    "shorting resistance": "10 mΩ to 5 Ω for a winding with its short",
    "level": "up to 5 % between two test levels",
    "core change": "up to 5 %",
    "drift": "up to 1 % from reading to reading while a part warms or cools",
}
CURE = {
    "lead inductance": "zero the leads and read the small ones again",
    "capacitance": "read again at a lower frequency: the excess falls with the square of it",
    "self-capacitance": "read again at a lower frequency: the excess falls with the square of it",
    "board capacitor": "unsolder one end of it, or read off the board",
    "shorting resistance": "read again at a higher frequency: the excess falls with the square of it",
    "level": "note the test level, and repeat at another one",
    "core change": "demagnetise the core, then read singles and joint ones back to back",
    "drift": "let the part settle, then read once more in reversed order",
}
BY_CHANCE = "A sound bench shows as much now and then, so repeat before concluding."
IN_ITS_PLACE = "Any one of these would do as well in its place: {others}."
INSTEAD = (
    "There is another way out: as entered, all readings fit together with {amounts}. An influence like this is no mistake "
    "and is not ranked among them."
)
SIZED = "{size} of {title} (usual: {usual}; to find out, {cure})"
AMOUNTS_OR = ", or with "
AMOUNTS_NOT_IDENTIFIED = "{title}: these readings say nothing about it{cure}."
WOULD_SHOW = "; one more reading would: {names}"
OTHER_FREQUENCY = "; the same readings at another frequency would"
AMOUNTS_COUPLING = (
    "Coupling: k = {k} would bring the readings together best, {times} times its standard uncertainty away from 0. With no "
    "coupling at all, {break_even} (in {id})."
)
COUPLING_INSIDE = (
    "Coupling: k = {k} would bring the readings together best, which is within twice its uncertainty: the readings do not ask "
    "for any."
)
MANY_TIMES = "more than 1000"
GAP = (
    "A cracked core or an air gap lowers both windings and both aiding readings together and leaves the opposing ones, so "
    "one session alone cannot show it: compare with an earlier record of the same part."
)
NOT_YET = (
    "Amounts are asked for once the readings fit what was entered: at least three of them, each with an uncertainty, and no "
    "contradiction among them."
)


# Sentences about what to measure next.

READ_CAUSE = "Read {name}, with {spoken}: {cases}."
CASES = "; "
NOTHING_ELSE = "nothing else went wrong"
CASE = "{value} if {what}"
ABOUT = "about {value}"
SOMETHING_ELSE = "most likely something else"
UNFORETOLD = "no value that could be foretold"
NO_WAY = "No further reading of these two windings tells them apart with this meter."
AGAIN = "No other wiring tells them apart with this meter. Set up {ids} again with an eye on clips and ties, and read anew."
READ_SINCE = (
    "{ids} was read again since, and the later reading fits: if the bench bears that out, correct or withdraw the first one. "
    "No other wiring tells more with this meter."
)
ALL_TOLD = "Nothing is left to tell apart: another reading would only narrow the uncertainty."
READ_QUANTITY = (
    "Read {name}, with {spoken}: it should show about {value}, and would bring the standard uncertainty of {quantity} from "
    "{now} to {then}."
)
NO_GAIN = "No further wiring narrows {quantity} by more than a tenth; a better card or another range would."
PLAN_TITLE = "Standard uncertainty of {quantity} to expect, wanted {wanted}"
PLAN_HEADER = ("meter card", "readings", "expected", "reaches it")
PLAN_BEST = "Least work that reaches it: {read}, with {card}, for {expected} to expect."
PLAN_NONE = "None of these cards reaches it with these readings; the best to expect is {expected}."
NO_PLAN = "None of these cards has ranges for these readings."
NO_QUANTITY = "{given} is nothing that a joint fit tells; ask for one of {accepted}."
YES, NO = "yes", "no"
NEEDS_CARD = "Advice weighs readings by their uncertainty, and too few of these have one: enter the meter's card with bench.meter."
FIND_THE_ODD_ONE = (
    "First find the odd reading: set up {ids} again with an eye on clips, ties and the unit, and read anew."
)
NO_DOTS_NEEDED = "Nothing is left to tell apart: in line the part reads the same both ways, so its dots make no difference."
NEEDS_DOTS = "Advice needs the dots: find them first by one reading in line and one with a winding reversed."
SETTLE_FIRST = (
    "First settle what the readings contradict; a narrower uncertainty of a wrong pair helps nobody."
)


# Sentences of a derivation's last steps: the figures of a bench in the place of the symbols.

READ_TITLE = "What was read"
READ = "The readings of this bench that the formula needs."
READ_BY = "The readings of this bench that the formula needs. B is not read itself; it follows from {route}."
ITS_READING = "reading {id}"

WHY_TITLE = "Why M is not put in"
WORKED_WHY = (
    "M is not read. It is half of a difference, and once rounded it has lost what its error shares with those of "
    "L1 and L2."
)
WHY_MOVED = " Moved by its own uncertainty alone, ± {width}, it takes the result along as shown."
WHY_COUNT = (
    " No uncertainty is stated; one count of the display, {width}, already takes the result along as shown."
)
WHY_NO_PAIR = " k beyond 1 belongs to no pair of windings."
WHY_AT = "M = {M}, k = {k}"

FORM_TITLE = "The same without the difference"
FORM = (
    "Written with what was read. B, the small one, is no longer a difference of large figures; d still is one, and "
    "what the errors of L1 and L2 share cancels in it."
)
DIRECT = "This is B, which was read directly: nothing is left to be worked out."

FIGURES_TITLE = "With the figures of the bench"
FIGURES = (
    "The figures in the place of the symbols, those in between with one digit in reserve. The result is rounded to its "
    "expanded uncertainty (coverage factor 2)."
)
FIGURES_SINGLE = "The formula is one winding alone, so the figure is its own reading."
FIGURES_NOT_STATED = "The figures in the place of the symbols. No uncertainty is stated: {reasons}."
INTERVAL = " First order is not to be trusted here; the shortest 95 % interval by Monte Carlo goes from {low} to {high}."
UNCOUPLED_TITLE = "And without coupling"
UNCOUPLED = "The same readings, if the windings shared no flux: {ratio} the coupled figure."
UNCOUPLED_ONLY = (
    "The readings so far hold nothing about coupling, so only the rule for separate inductors has figures. Read both "
    "windings together in at least one wiring."
)
WORKED_TIMES = "{factor} times"

NO_FIGURES = "No figure of the part is needed here."
NO_SINGLES = "There are no figures to put in yet: read {missing} alone."
SINGLE = "winding {number}"
DOTS_UNKNOWN = "The dots are not known and the readings do not decide, so there is no sign for M and no figure to put in."
DOTS_DIFFER = (
    "The derivation has the dots at {given}, the record at {record}. Figures go by the record: derive it with its dots "
    "to put them in."
)
WORKED_MORE_WINDINGS = "Figures of a bench are put in for two windings; this part has {windings}. Use derive(...).substitute(...) with your own."
UNRESOLVED = "Take this with care: {status}."
AND = " and "
