"""Swept data: impedance and scattering parameters against frequency, from files and from each other."""
