"""One student of a class on a hub: what a browser would do there, done through the hub's own addresses."""

import json
import re
import time
import uuid
from dataclasses import dataclass, field
from urllib.parse import quote

import nbformat
import requests
import websocket

from labkit.resources import shipped

PATIENCE = 600.0  # s for one step, on a machine that is busy with a whole class
PASSWORD = "invented"


@dataclass
class Student:
    """A user of a hub, by login."""

    login: str
    hub: str
    session: requests.Session = field(default_factory=requests.Session)
    token: str = ""

    @property
    def server(self) -> str:
        """Address of the student's own server."""
        return f"{self.hub}/user/{quote(self.login)}"

    @property
    def headers(self) -> dict[str, str]:
        """What the student's own programs send along."""
        return {"Authorization": f"token {self.token}"}

    def log_in(self) -> None:
        """Through the log-in page, as a browser does; then a token of one's own."""
        page = self.session.get(f"{self.hub}/hub/login", timeout=60)
        hidden = re.search(r'name="_xsrf" value="([^"]+)"', page.text)
        form = {"username": self.login, "password": PASSWORD, "_xsrf": hidden.group(1) if hidden else ""}
        done = self.session.post(f"{self.hub}/hub/login?next=/hub/home", data=form, timeout=60)
        assert done.url.endswith("/hub/home"), f"{self.login} could not log in: {done.status_code} {done.url}"
        xsrf = next(c.value for c in self.session.cookies if c.name == "_xsrf" and c.path == "/hub/")
        made = self.session.post(
            f"{self.hub}/hub/api/users/{quote(self.login)}/tokens",
            headers={"X-XSRFToken": xsrf or "", "Referer": f"{self.hub}/hub/token"},
            timeout=60,
        )
        made.raise_for_status()
        self.token = made.json()["token"]

    def start(self) -> None:
        """Start one's own server and wait until it is there."""
        api = f"{self.hub}/hub/api/users/{quote(self.login)}"
        requests.post(f"{api}/server", headers=self.headers, timeout=PATIENCE).raise_for_status()
        deadline = time.monotonic() + PATIENCE
        while not requests.get(f"{self.server}/api/status", headers=self.headers, timeout=60).ok:
            assert time.monotonic() < deadline, f"the server of {self.login} did not start"
            time.sleep(0.2)

    def status(self, address: str) -> int:
        """What the hub answers to this student at an address below it."""
        return requests.get(f"{self.hub}{address}", headers=self.headers, timeout=60).status_code

    def terminal(self, command: str) -> str:
        """What a command prints in a terminal of one's own server."""
        made = requests.post(f"{self.server}/api/terminals", headers=self.headers, timeout=60)
        made.raise_for_status()
        name = made.json()["name"]
        end = uuid.uuid4().hex
        socket = self._socket(f"/terminals/websocket/{name}")
        try:
            socket.send(json.dumps(["stdin", f"stty -echo; clear; {command}; echo en''d-{end}\r"]))
            printed, deadline = "", time.monotonic() + PATIENCE
            while f"end-{end}" not in printed:
                assert time.monotonic() < deadline, f"{command} did not end: {printed[-500:]}"
                kind, *content = json.loads(socket.recv())
                printed += content[0] if kind == "stdout" else ""
        finally:
            socket.close()
        requests.delete(f"{self.server}/api/terminals/{name}", headers=self.headers, timeout=60)
        plain = re.sub(r"\x1b\[[0-9;?]*[A-Za-z]", "", printed)
        return plain.split(f"end-{end}")[0]

    def lesson(self, folder: str = "my-choke") -> str:
        """Run the cells of the shipped lesson on one's own record; what they showed as plain text."""
        notebook = nbformat.read(shipped("notebooks", "coupled_pair.ipynb"), as_version=4)
        cells = [cell.source for cell in notebook.cells if cell.cell_type == "code"]
        wanted = {"path": f"{folder}/coupled_pair.ipynb", "type": "notebook", "name": folder}
        wanted |= {"kernel": {"name": "python3"}}
        sessions = f"{self.server}/api/sessions"
        made = requests.post(sessions, headers=self.headers, json=wanted, timeout=PATIENCE)
        made.raise_for_status()
        socket = self._socket(f"/api/kernels/{made.json()['kernel']['id']}/channels")
        try:
            return "\n".join(_execute(socket, cell.replace("demo_bench()", "open_bench()")) for cell in cells)
        finally:
            socket.close()

    def _socket(self, path: str) -> websocket.WebSocket:
        return websocket.create_connection(
            f"{self.server.replace('http', 'ws', 1)}{path}", header=self.headers, timeout=PATIENCE
        )


def _execute(socket: websocket.WebSocket, code: str) -> str:
    """Run one cell; its plain text, or an AssertionError with what it raised."""
    asked = uuid.uuid4().hex
    header = {"msg_id": asked, "msg_type": "execute_request", "session": asked, "username": ""}
    content = {"code": code, "silent": False, "allow_stdin": False, "stop_on_error": True}
    message = {"header": header, "parent_header": {}, "metadata": {}, "content": content, "channel": "shell"}
    socket.send(json.dumps(message))
    shown: list[str] = []
    while True:
        received = socket.recv()
        if not isinstance(received, str):
            continue  # a picture of a widget
        answer = json.loads(received)
        if answer["parent_header"].get("msg_id") != asked:
            continue
        content, kind = answer["content"], answer["header"]["msg_type"]
        assert kind != "error", f"{code}\n{content.get('ename')}: {content.get('evalue')}"
        if kind in ("execute_result", "display_data"):
            shown.append(content["data"].get("text/plain", ""))
        if kind == "status" and content["execution_state"] == "idle":
            return "\n".join(shown)
