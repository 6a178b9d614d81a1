"""Faces lay findings out: schematic, figures, report, terminal."""
