"""Documenting a choke: matrix, models, quantities against frequency, modes, and all their numbers."""
