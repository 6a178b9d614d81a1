"""The same bundles under this Python and a newer one: the same verdicts, numbers to the stated tolerance."""
