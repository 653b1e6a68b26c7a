"""What a container does, shown without a container engine: the container file's own commands on this machine.

The processes run as the container file's user where the tests run as root, else as the user of the tests. Nothing but
the volume's folder is theirs to write to: the working directory and the folder for temporary files are read-only.
"""

from __future__ import annotations

import json
import os
import signal
import site
import socket
import subprocess
import sys
import time
import urllib.request
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest

from tests.deploy import container_file
from tests.deploy.container_file import Image
from tests.deploy.manifests import probe_paths
from tests.load.outage import DEMO, issue_key
from tests.load.running import ROOT, Launch, Running, service
from tests.store.support import RealServer, free_port

BODY = json.dumps(
    {"structure": {"bays": 22, "bay_spacing": "4 ft"}, "wall": {"panel_thickness": "8 mm"}}
).encode()
IMAGE = container_file.read()
MODULES = os.pathsep.join([str(ROOT), *site.getsitepackages()])


def interpreter() -> tuple[str, int | None]:
    """An interpreter of this version and the user to run it as; None: this one, when no other can be run.

    Only root can run as the container's user, and an interpreter below root's own folder can be run by nobody else.
    """
    version = f"python{sys.version_info.major}.{sys.version_info.minor}"
    programs = (
        (sys.executable, f"/usr/bin/{version}", f"/usr/local/bin/{version}") if os.geteuid() == 0 else ()
    )
    for program in programs:
        line = [program, "-c", "import service.app"]
        environment = {"PYTHONPATH": MODULES}
        try:
            subprocess.run(line, user=IMAGE.user, env=environment, cwd="/", check=True, capture_output=True)
        except (OSError, subprocess.CalledProcessError):
            continue
        return program, IMAGE.user
    return sys.executable, None


@pytest.fixture(scope="module")
def as_in_a_container(tmp_path_factory: pytest.TempPathFactory) -> Launch:
    """Say how the container file starts the service."""
    folder = tmp_path_factory.mktemp("read-only")
    folder.chmod(0o555)
    for above in folder.parents[:3]:
        above.chmod(0o755)  # pytest's own folders are for its user only
    program, user = interpreter()
    environment = IMAGE.environment | {
        "PYTHONPATH": MODULES,
        "TMPDIR": str(folder),
        "SHIN_WALL_HOST": "127.0.0.1",
    }
    return Launch(command=(program, *IMAGE.entry[1:]), user=user, folder=folder, environment=environment)


@pytest.fixture
def volume() -> Iterator[Path]:
    """A folder as the container's user has it."""
    with TemporaryDirectory(prefix="shin-wall-volume-") as name:
        if os.geteuid() == 0:
            os.chown(name, IMAGE.user, IMAGE.user)
        yield Path(name)


@pytest.fixture
def running(as_in_a_container: Launch, volume: Path) -> Iterator[Running]:
    """Run the service as a container does, with its embedded catalogs."""
    with service(
        free_port(), {"STATE_FILE": str(volume / "state"), "DRAIN_SECONDS": "2"}, as_in_a_container
    ) as live:
        yield live


def health(image: Image, port: int) -> int:
    """Run the health check of the container file and give its exit code."""
    environment = image.environment | {"SHIN_WALL_PORT": str(port)}
    line = [sys.executable, *image.health[1:]]
    return subprocess.run(line, env=environment, capture_output=True, check=False).returncode


def begin(port: int) -> socket.socket:
    """Send a plan request but for its last byte."""
    connection = socket.create_connection(("127.0.0.1", port), timeout=10)
    head = f"POST /v1/plans HTTP/1.1\r\nHost: 127.0.0.1\r\nContent-Type: application/json\r\nContent-Length: {len(BODY)}\r\n\r\n"
    connection.sendall(head.encode() + BODY[:-1])
    return connection


def until_refused(port: int) -> None:
    """Wait until the port takes no more connections."""
    deadline = time.monotonic() + 5
    while time.monotonic() < deadline:
        try:
            socket.create_connection(("127.0.0.1", port), timeout=1).close()
        except OSError:
            return
        time.sleep(0.02)
    raise AssertionError("the port still takes connections")


def test_the_entry_command_starts_and_its_health_check_tells(running: Running) -> None:
    """The health check passes while the service answers and fails where nothing does."""
    assert health(IMAGE, running.port) == 0
    assert health(IMAGE, free_port()) != 0


def test_the_service_runs_as_the_user_of_the_container_file(running: Running) -> None:
    """The process belongs to the user that the container file names, not to root."""
    owner = Path(f"/proc/{running.process.pid}").stat().st_uid
    if os.geteuid() == 0 and owner == 0:
        pytest.skip("no interpreter here can be run by an ordinary user")
    assert owner in {IMAGE.user, os.geteuid()} - {0}


def test_probes_of_the_manifests_are_answered(running: Running) -> None:
    """Every address that a probe asks for is answered with 200."""
    assert set(probe_paths()) == {"/livez", "/readyz"}
    for path in probe_paths():
        with urllib.request.urlopen(f"http://127.0.0.1:{running.port}{path}", timeout=5) as answer:
            assert answer.status == 200


def test_a_request_in_flight_is_finished_after_the_stop_signal(running: Running) -> None:
    """A stopping service takes no new connection, finishes the request that it has begun to read, and ends."""
    with closing(begin(running.port)) as connection:
        time.sleep(0.3)  # until the service has read what was sent
        running.process.send_signal(getattr(signal, container_file.stop_signal()))
        until_refused(running.port)
        connection.sendall(BODY[-1:])
        with connection.makefile("rb") as answer:
            head, _, content = answer.read().partition(b"\r\n\r\n")
    assert head.startswith(b"HTTP/1.1 200 ")
    assert json.loads(content)["layout"]
    # uvicorn ends by the signal itself once all is done; as process 1 of a container it ends with 0.
    assert running.process.wait(timeout=10) in {0, -signal.SIGTERM}


def test_a_caller_that_never_finishes_does_not_hold_up_the_stop(running: Running) -> None:
    """After the drain's seconds a stopping service ends, whatever is still open."""
    with closing(begin(running.port)):
        time.sleep(0.3)  # until the service has read what was sent
        began = time.monotonic()
        running.terminate()
        running.process.wait(timeout=20)
    assert 1.5 < time.monotonic() - began < 8.0


def test_a_restarted_container_answers_from_its_volume_while_the_catalog_server_is_away(
    as_in_a_container: Launch, volume: Path
) -> None:
    """A container that starts without the catalog server plans from the snapshot on its volume, and takes traffic."""
    server = RealServer()
    server.start()
    settings = {
        "STATE_FILE": str(volume / "state"),
        "REDIS_URL": server.address.url,
        "KEY_PEPPER": "of this test",
    }
    try:
        key = issue_key(settings, "demo-dealer", "plan", "publish")
        with service(free_port(), settings, as_in_a_container) as first:
            assert ask(first.port, "PUT", "/v1/catalogs/demo", key, DEMO)[0] == 201
        server.kill()
        with service(free_port(), settings, as_in_a_container) as second:
            status, headers = ask(second.port, "POST", "/v1/plans", key, BODY)
        assert status == 200
        assert "unreachable" in headers["catalog-freshness"]
    finally:
        server.close()


def ask(port: int, method: str, path: str, key: str, body: bytes) -> tuple[int, dict[str, str]]:
    """Send a request with a key and give the answer's status and headers."""
    headers = {"Authorization": f"Bearer {key}", "Content-Type": "application/json"}
    request = urllib.request.Request(f"http://127.0.0.1:{port}{path}", body, headers, method=method)
    with urllib.request.urlopen(request, timeout=20) as answer:
        return answer.status, {name.lower(): value for name, value in answer.headers.items()}
