"""Coursework handed in: packed from a bench folder, checked and reviewed without running anything of it."""
