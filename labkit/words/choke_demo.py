"""Texts of the demo records with sweeps. Scenario, people, parts and figures are invented."""

SCENARIO = (
    "Invented scenario: a small filter laboratory documents a choke before it is used. Parts, instruments and all figures come "
    "from labkit's virtual bench."
)
NOTE = "Part at rest on the bench for an hour, not magnetised before."
INSTRUMENT, ANALYSER = "impedance analyser (invented)", "network analyser, 50 Ω (invented)"
JIG, BOARD_JIG = "four-terminal jig, 40 mm leads", "four coaxial sockets on a plane"
CHOKE_TITLE = "Current-compensated choke C4, two windings on one ring (invented)"
CHOKE_WORDS = (
    "In common mode the choke is what its marking says, some five millihenry, and above half a megahertz it is a capacitor. In "
    "differential mode twenty-odd microhenry are left. Both routes to that leakage agree, so we believe it."
)
FREQUENCY_TITLE = "Ring with one turn too many, 40 and 39 turns, thin wire (invented)"
FREQUENCY_WORDS = (
    "Side by side the two windings read a tenth less at high frequency than at low. It is the odd turn: above the corner its "
    "current is limited by leakage alone and cancels flux, below it by the wire, and then hardly anything flows."
)
THREE_TITLE = "Choke for three lines, three windings on one ring (invented)"
THREE_WORDS = (
    "Three single readings and three in opposition are enough for the whole matrix. All three side by side read what the matrix "
    "says, so no winding is turned round."
)
BOARD_TITLE = "Choke of the same kind on its filter board, 1 µF X-capacitor left in (invented)"
BOARD_WORDS = (
    "On the board both windings in line read a quarter too much at 1 kHz and less than nothing at 10 kHz, while side by side was "
    "right. In line the X-capacitor lies across one winding; side by side it is shorted by our own tie."
)
BOARD_NOTE = "On the board: 1 µF X-capacitor between 1a and 2a. Measured 0.0 V across it before clipping on."
