"""What may have happened at the bench instead, in words."""

CAUSE = {
    "as intended": "as intended",
    "other wiring": "{reading}: it was {built}, not {intended}",
    "prefix": "{reading}: the prefix is off by {factor}, the display showed {instead}",
    "decimal mark": "{reading}: the decimal mark is off by {factor}, the display showed {instead}",
    "resistance typed": "{reading}: the resistance of the second display was typed as inductance",
    "parallel mode": "{reading}: the meter showed the parallel equivalent",
    "prediction copied": "{reading}: the digits are those of the prediction",
    "none of these": "{reading}: none of the causes considered",
    "rows swapped": "{first} and {second} stand in each other's row",
    "dots": "the dots are marked the other way round",
    "leftover link": "a link of {tie} was left on during {readings}",
}
PRIOR_NOTE = (
    "Weights before the data: {weights}. A ranking is stated only if it stays the same when any of them is ten times larger "
    "or smaller."
)
