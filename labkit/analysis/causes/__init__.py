"""What may have happened at the bench instead: small pieces, one cause a function, easy to add."""
