"""From the record to findings: pure functions of what was measured."""
