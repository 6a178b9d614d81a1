"""The cautions that every notebook and report carries. Raise `VERSION` when a sentence changes its meaning."""

VERSION = "1"
TITLE = "Cautions"
CAUTIONS = (
    "No mains on this bench, and no plug on any board: the meter's own test signal, below 1 V, is the whole "
    "experiment. A choke is never connected to the mains to see it filter.",
    "Parts are salvaged beforehand by an authorised person. Equipment with a high-voltage supply can hold a lethal "
    "charge long after it was unplugged: it is discharged through a rated resistor, checked with a voltmeter and left "
    "shorted.",
    "On a filter board the capacitor across the line can hold the peak of the mains if its bleeder resistor is open. "
    "With 0.47 µF and 1 MΩ it takes 1.1 s to fall from 358 V to 34 V, and only if the bleeder is intact. Measure DC "
    "volts first, then ohms, then inductance: a charged capacitor also destroys the meter.",
    "Mark handled parts “teaching sample, not for mains”. Never rewind a sectional choke as a bifilar one and put it "
    "back into equipment: the gap between its sections is safety insulation.",
    "With DC bias, never interrupt the current of an inductor: use a current-limited source of at most 24 V and a clamp "
    "diode, and mind that chokes get hot.",
    "Ferrite splinters when it breaks; soldering irons burn; clamps pinch.",
    "Local codes, the rules of your institution and licensed practice come first; where they differ from this "
    "list, follow them.",
)
