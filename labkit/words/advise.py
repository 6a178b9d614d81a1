"""Sentences about what to measure next."""

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
BAD_WANTED = "The wanted standard uncertainty {given} is no size; give a number above zero, in SI units."
YES, NO = "yes", "no"
NEEDS_CARD = "Advice weighs readings by their uncertainty, and too few of these have one: enter the meter's card with bench.meter."
NEEDS_DOTS = "Advice needs the dots: find them first by one reading in line and one with a winding reversed."
SETTLE_FIRST = (
    "First settle what the readings contradict; a narrower uncertainty of a wrong pair helps nobody."
)
