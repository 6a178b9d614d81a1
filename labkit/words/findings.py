"""Sentences of findings. Every number in them comes from the readings of the record."""

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
