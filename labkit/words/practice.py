"""Sentences of the practice benches."""

TITLE = "Practice bench {seed}, with at most one mistake in it"
SCENARIO = "Invented practice bench {seed} of labkit's virtual bench; a mistake may have been planted."
INTRODUCTION = (
    "Practice bench {seed}, invented. The first {count} readings are taken. You may take more with practice.read(wiring), then "
    "commit a guess with practice.guess(text); only then is the solution shown."
)
GUESS_FIRST = "Commit a guess first with practice.guess(text); the solution is shown afterwards."
GUESSED = "Your guess is stored, line {line} of the record: {text}"
SOLUTION = "What was planted: {planted}. The pair behind it: L1 = {L1}, L2 = {L2}, series-opposing {B}."
YOURS = "Your guess was: {guess}"
PLANTED = {
    "nothing": "nothing, every reading is as it should be",
    "open clamp": "side by side, one clamp was open, so that winding 1 alone was in circuit",
    "reversed": "in line, winding 2 was the wrong way round, so that the connection was series-aiding",
    "short left on": "a link across winding 2 was left on while winding 1 was read",
    "prefix": "the series-opposing reading was written down with the prefix three places too large",
    "one winding": "in line, the clips sat across winding 1 alone",
}
SEED_RANGE = "The seed of a practice bench is a whole number from 0 on; {given} is not."
