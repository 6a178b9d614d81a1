"""What may have happened at the bench instead, in words."""

DEED = {
    "other wiring": "{id} shows {built}, not {intended}",
    "open clamp": "{id} shows {built} (as with an open clamp on the other winding)",
    "leads": "both clips of {id} sat on one node, so it shows the leads alone",
    "prefix": "{id} has its prefix off by a factor of {factor} (the display showed {display})",
    "decimal mark": "{id} has its decimal mark off by one place (the display showed {display})",
    "resistance typed": "{id} holds the digits of the resistance on the second display",
    "parallel mode": "{id} is the parallel equivalent of the meter, not the series one",
    "prediction copied": "{id} holds the digits of the prediction",
    "none of these": "{id} fits no mistake considered here",
}
STORY = {
    "dots": "one dot is marked at the wrong end",
    "rows swapped": "{0} and {1} were entered in each other's place",
    "leftover link": "a link {0} was left on during {1}",
}
AS_INTENDED = "everything was done as entered"
AND = " and "
SOUND = "Nothing in these {count} readings speaks against what was entered{but}."
SOUND_YET = (
    "Taken together, these {count} readings fit what was entered{but}. Single differences beyond their expanded "
    "uncertainty are named above; about one in twenty is so by chance."
)
BUT = ". They would look much the same, though, in these cases: {others}"
SAME_PAIR = (
    "Whichever of these holds, the inductances of the pair come out the same within their uncertainty."
)
NAMED = "The readings support one explanation: {what}. Nothing else considered comes within 1 : 1000 of it."
CANNOT_TELL = "Something does not fit, and the readings cannot tell what. Most likely: {first}. Not told apart from it: {others}."
NOT_ROBUST = (
    "These readings alone do not single out what happened; that would depend on how common each mistake is taken to be. "
    "Possible, in no order: {all}."
)
ODDS = "{what} (odds {odds})"
MORE = "and {count} more, less likely"
OTHERS = "and {count} others"
CONTRADICTION = (
    "The readings contradict each other, and no mistake considered here explains them: {what}. Check that all of them are of "
    "one part, at one frequency and level, and set up the odd one again."
)
QUESTION = "{id}: is it {display}? If the other readings are right, {shown} as typed does not fit. Nothing was changed."
FIRM = "The readings support this: {what}. Beyond that they cannot tell; still possible: {others}."
DOTS_OPEN = "The dots are not marked: these explanations put them in different places, as mirror images do. Mark them, or read side by side."

# Without a card
CONTRADICTORY = (
    "These readings do not fit together as entered: {all} would have to be wrong by {error} at once."
)
ONE_MISTAKE = "One mistake explains them: {what}{more}."
SINGLE_MISTAKES = "Any one of these mistakes would explain them: {what}{more}."
RARER = "; {count} rarer ones would do too"
NO_SINGLE_MISTAKE = "No single mistake considered here explains them: set up the odd one again. Two at once are not looked for without a card."
MIRRORED = "The first two are mirror images: while the dots are not marked, nothing here tells which of them it was. Mark the dots, or read side by side."
DOUBTFUL = (
    "As entered, the readings fit together only if the meter is wrong by {error}. One mistake would do instead: {first}; then "
    "{least} is enough. Cannot tell without a card: set that reading up again."
)
