"""What may have happened at the bench instead, in words."""

DEED = {
    "other wiring": "{id} was read as {built} instead of {intended}",
    "leads": "both clips of {id} sat on one node, so it shows the leads alone",
    "prefix": "{id} has its prefix off by {factor}: the display showed {display}",
    "decimal mark": "{id} has its decimal mark off by one place: the display showed {display}",
    "resistance typed": "{id} holds the digits of the resistance on the second display",
    "parallel mode": "{id} is the parallel equivalent of the meter",
    "prediction copied": "{id} holds the digits of the prediction",
    "none of these": "{id} does not belong to this part by any cause considered here",
}
STORY = {
    "dots": "one dot is marked at the wrong end",
    "rows swapped": "{0} and {1} stand in each other's row",
    "leftover link": "a link {0} was left on during {1}",
}
AS_INTENDED = "everything was done as entered"
AND = " and "
SOUND = "Nothing in these {count} readings speaks against what was entered{but}."
BUT = ", but they cannot tell it from these: {others}"
NAMED = "The readings support one explanation: {what}. Nothing else considered comes within 1 : 1000 of it."
CANNOT_TELL = "Something does not fit, and the readings cannot tell what. Most likely: {first}. Not told apart from: {others}."
NOT_ROBUST = "Which of them is most likely depends on what one expects beforehand, so no order is stated: {all}."
ODDS = "{what} (1 : {odds})"
MORE = "and {count} more"
CONTRADICTION = (
    "The readings contradict each other, and no cause considered here explains them: {what}. Check that all of them are of "
    "one part, at one frequency."
)
TABLE_TITLE = "What may have happened"
TABLE_HEADER = ("explanation", "odds against the first")
FIRST = "first"
QUESTION = "{id}: is it {display}? If the other readings are right, {shown} as typed does not fit. Nothing was changed."
FIRM = "The readings support that {what}. Beyond that they cannot tell: {others}."
