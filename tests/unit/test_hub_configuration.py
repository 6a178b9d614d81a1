"""The shipped configuration of a hub: what it opens to whom, short of starting one."""

import runpy
from typing import Any
from urllib.parse import urlsplit

import pytest
from traitlets.config import Config

from labkit.resources import shipped


@pytest.fixture
def configuration() -> Any:
    """What the file sets."""
    given = Config()
    runpy.run_path(str(shipped("data", "hub", "jupyterhub_config.py")), {"get_config": lambda: given})
    return given


def test_it_listens_on_this_machine_only(configuration: Any) -> None:
    """Hub, proxy and the proxy's own interface are on the loopback address; TLS stands in front."""
    hub = configuration.JupyterHub
    addresses = (hub.bind_url, hub.hub_bind_url, configuration.ConfigurableHTTPProxy.api_url)
    assert {urlsplit(address).hostname for address in addresses} == {"127.0.0.1"}
    assert len({urlsplit(address).port for address in addresses}) == 3


def test_only_students_come_in_each_under_an_own_account(configuration: Any) -> None:
    """The machine's accounts in one group are let in, and files that they write are closed to the others."""
    assert configuration.JupyterHub.authenticator_class == "pam"
    assert configuration.LocalAuthenticator.allowed_groups == {"students"}
    assert "allow_all" not in configuration.Authenticator
    assert "umask 027" in configuration.Spawner.cmd[2]
    assert "--KernelManager.transport=ipc" in configuration.Spawner.args


def test_the_ten_lines_name_what_the_configuration_needs() -> None:
    """Port, group and place of the proxy in the ten lines of the description are those of the file."""
    text = shipped("data", "hub", "README.md").read_text(encoding="utf-8")
    lines = text.split("```sh\n")[1].split("```")[0].splitlines()
    assert len(lines) == 10
    assert "groupadd students" in lines[0]
    assert "--prefix /opt/labkit/proxy configurable-http-proxy" in lines[2]
    assert "127.0.0.1:8810" in text
