"""The GUM and its Supplement 1 as a small engine that knows no inductors."""
