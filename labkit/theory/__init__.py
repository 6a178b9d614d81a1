"""The physics of coupled windings: no files, no clocks, no plots."""
