"""Faces that answer in the browser. Each is a thin widget over a plain model that is tested without one."""
