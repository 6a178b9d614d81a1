"""Sentences about refits to resampled sweeps."""

STOPPED = "Stopped after {done} of {asked} resamples; the figures rest on these {done}."
NAME = "resamples"
RESAMPLES = "{given} resamples were asked for; ask for at least one."
