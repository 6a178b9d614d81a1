"""A class on one JupyterHub: real users, servers, kernels and terminals on this machine's loopback."""
