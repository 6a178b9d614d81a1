"""How often the ranking of causes and the joint fit are right: `python -m tests.study`."""
