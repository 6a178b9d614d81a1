"""JupyterHub for a class with labkit; README.md beside this file says how it is set up and why."""

import sys

c = get_config()  # noqa: F821 - JupyterHub gives it to each configuration
programs = f"{sys.prefix}/bin"

# Where it listens: on this machine only. What speaks TLS to the class stands in front of it.
c.JupyterHub.bind_url = "http://127.0.0.1:8810"
c.JupyterHub.hub_bind_url = "http://127.0.0.1:8812"
c.ConfigurableHTTPProxy.api_url = "http://127.0.0.1:8811"
c.ConfigurableHTTPProxy.command = [f"{sys.prefix}/proxy/node_modules/.bin/configurable-http-proxy"]

# Who comes in: accounts of this machine that are in the group `students`.
c.JupyterHub.authenticator_class = "pam"
c.LocalAuthenticator.allowed_groups = {"students"}

# A server for each student, under the student's own account, with at most 2 GiB of addresses a process.
# What is written can be read by the student's home's group, here the lecturers, and by nobody else.
c.JupyterHub.spawner_class = "localprocess"
c.Spawner.cmd = [
    *("sh", "-c", 'umask 027; exec prlimit --as=2147483648 "$0" "$@"'),
    f"{programs}/jupyterhub-singleuser",
]
c.Spawner.args = [
    "--KernelManager.transport=ipc",  # on TCP any account of the machine could listen to what a cell prints
    '--ServerApp.terminado_settings={"shell_command": ["/bin/bash"]}',  # a login shell would not find labkit
]
c.Spawner.environment = {"PATH": f"{programs}:/usr/local/bin:/usr/bin:/bin", "OPENBLAS_NUM_THREADS": "1"}
c.JupyterHub.cleanup_servers = False  # a restart of the hub ends nobody's lesson

# A server that nobody has used for an hour is stopped; a lesson in progress is not.
c.JupyterHub.services = [
    {"name": "idle", "command": [sys.executable, "-m", "jupyterhub_idle_culler", "--timeout=3600"]}
]
c.JupyterHub.load_roles = [
    {
        "name": "idle",
        "services": ["idle"],
        "scopes": ["list:users", "read:users:activity", "read:servers", "delete:servers"],
    }
]
