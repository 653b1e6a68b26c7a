"""What stands in two places agrees: the deployment files with each other, with the settings and with the service."""

from __future__ import annotations

import re
import tomllib
from contextlib import suppress
from typing import Any

import pytest
import redis
import yaml
from fastapi.testclient import TestClient

from service.app import create_app
from service.settings import Settings
from tests.deploy import container_file
from tests.deploy.manifests import CLUSTER, DEPLOY, compose, documents, kustomization, of_kind, planner, pods
from tests.load.running import ROOT
from tests.store.support import RealServer

UNITS = {"Mi": 2**20, "Gi": 2**30, "M": 2**20, "G": 2**30, "mb": 2**20, "gb": 2**30}
"""Memory as the manifests, the compose file and the catalog server write it, the latter two in binary units too [B]"""


def size(text: str) -> int:
    """Read an amount of memory [B]."""
    number, unit = re.fullmatch(r"(\d+)([A-Za-z]+)", text).groups()  # type: ignore[union-attr]  # a failure is the test's
    return int(number) * UNITS[unit]


def literals() -> dict[str, str]:
    """The settings in the map of the manifests."""
    (made,) = [made for made in kustomization()["configMapGenerator"] if made["name"] == "planner"]
    return dict(literal.split("=", 1) for literal in made["literals"])


def redis_options(server: str = "redis") -> dict[str, str]:
    """Read the options of the catalog server, or of the queue."""
    lines = (CLUSTER / f"{server}.conf").read_text(encoding="utf-8").splitlines()
    return dict(line.split(maxsplit=1) for line in lines if line and line[0] != "#")


def test_every_setting_named_is_one_of_the_service() -> None:
    """No deployment file sets what the service does not know; a slip of the pen would be ignored silently."""
    paths = [*CLUSTER.iterdir(), DEPLOY / "compose.yaml", container_file.FILE]
    named = {
        name for path in paths for name in re.findall(r"SHIN_WALL_(\w+)", path.read_text(encoding="utf-8"))
    }
    assert named <= {name.upper() for name in Settings.model_fields}
    assert {"REDIS_URL", "KEY_PEPPER", "METRICS_KEY", "STATE_FILE", "DRAIN_SECONDS"} <= named


def test_one_version_everywhere() -> None:
    """The images are tagged with the project's version."""
    version = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]["version"]
    (image,) = kustomization()["images"]
    assert image == {"name": planner()["image"], "newTag": version}
    assert (
        of_kind("Deployment", "worker")["spec"]["template"]["spec"]["containers"][0]["image"] == image["name"]
    )
    for service in ("planner", "worker"):
        assert compose()["services"][service]["image"] == f"{planner()['image']}:{version}"
    assert f"--tag {planner()['image']}:{version}" in container_file.FILE.read_text(encoding="utf-8")


def test_stopping_is_given_more_time_than_it_takes() -> None:
    """A pod may stop for longer than it waits for routers and drains together; a composed container likewise."""
    pod = of_kind("Deployment")["spec"]["template"]["spec"]
    waits = planner()["lifecycle"]["preStop"]["sleep"]["seconds"]
    assert pod["terminationGracePeriodSeconds"] > waits + int(literals()["SHIN_WALL_DRAIN_SECONDS"])
    seconds = int(compose()["services"]["planner"]["stop_grace_period"].removesuffix("s"))
    assert seconds > Settings.model_fields["drain_seconds"].default


def test_users_and_folders_are_those_of_the_image() -> None:
    """Pods run as the image's user, may write to the volume of its state, and to the folder for temporary files."""
    image = container_file.read()
    assert of_kind("Deployment")["spec"]["template"]["spec"]["securityContext"]["runAsUser"] == image.user
    mounted = {mount["mountPath"] for mount in planner()["volumeMounts"]}
    state = image.environment["SHIN_WALL_STATE_FILE"].rpartition("/")[0]
    assert mounted == {state, "/tmp"}  # noqa: S108 - the mount point of the manifest
    service = compose()["services"]["planner"]
    assert service["volumes"] == [f"state:{state}"]
    assert service["read_only"]
    assert service["tmpfs"] == ["/tmp"]  # noqa: S108 - the mount point of the compose file
    assert planner()["ports"][0]["containerPort"] == int(image.environment["SHIN_WALL_PORT"])


@pytest.mark.parametrize("pod", list(pods()), ids=lambda pod: pod["containers"][0]["name"])
def test_pods_keep_the_restricted_standard(pod: dict[str, Any]) -> None:
    """Every pod keeps the policy that its namespace enforces, and more: no token, a read-only file system, limits.

    Kubernetes, Pod Security Standards, policy "Restricted": privilege escalation, running as non-root, seccomp,
    capabilities (from memory).
    """
    assert (
        of_kind("Namespace", "shin-wall")["metadata"]["labels"]["pod-security.kubernetes.io/enforce"]
        == "restricted"
    )
    assert pod["securityContext"]["runAsNonRoot"]
    assert pod["securityContext"]["runAsUser"] > 0
    assert pod["securityContext"]["seccompProfile"] == {"type": "RuntimeDefault"}
    assert pod["automountServiceAccountToken"] is False
    for container in pod["containers"]:
        assert container["securityContext"] == {
            "allowPrivilegeEscalation": False,
            "readOnlyRootFilesystem": True,
            "capabilities": {"drop": ["ALL"]},
        }
        for kind in ("requests", "limits"):
            assert set(container["resources"][kind]) == {"cpu", "memory"}


def test_selectors_find_their_pods() -> None:
    """The service, the deployment, the disruption budget and the autoscaler mean the same pods."""
    labels = of_kind("Deployment")["spec"]["template"]["metadata"]["labels"]
    assert of_kind("Deployment")["spec"]["selector"]["matchLabels"] == labels
    assert of_kind("Service")["spec"]["selector"] == labels
    assert of_kind("PodDisruptionBudget")["spec"]["selector"]["matchLabels"] == labels
    for spread in of_kind("Deployment")["spec"]["template"]["spec"]["topologySpreadConstraints"]:
        assert spread["labelSelector"]["matchLabels"] == labels
    scaler = of_kind("HorizontalPodAutoscaler")["spec"]
    assert (scaler["scaleTargetRef"]["kind"], scaler["scaleTargetRef"]["name"]) == ("Deployment", "planner")
    assert scaler["minReplicas"] > of_kind("PodDisruptionBudget")["spec"]["maxUnavailable"]
    assert (
        "replicas" not in of_kind("Deployment")["spec"]
    )  # applying the manifests would undo the autoscaler's choice


def test_lists_that_wait_fit_into_the_folder_for_temporary_files() -> None:
    """As many batches as run at once, each with what was sent and what was answered, full to the brim."""
    (folder,) = [
        volume["emptyDir"]["sizeLimit"]
        for volume in of_kind("Deployment")["spec"]["template"]["spec"]["volumes"]
        if volume["name"] == "tmp"
    ]
    most = Settings.model_fields["batches"].default * 2 * int(literals()["SHIN_WALL_BATCH_SPOOL_BYTES"])
    assert most <= size(folder)
    # on a file system in memory it would count as memory
    composed = compose()["services"]["planner"]
    assert composed["volumes"] == [f"state:{composed['environment']['TMPDIR']}"]


def test_planners_are_as_many_as_the_container_may_use() -> None:
    """Left alone, a worker would start one for each processor of its machine."""
    assert literals()["SHIN_WALL_PLANNERS"] == planner()["resources"]["limits"]["cpu"]
    composed = compose()["services"]["planner"]
    assert composed["environment"]["SHIN_WALL_PLANNERS"] == composed["deploy"]["resources"]["limits"]["cpus"]


def test_workers_grow_with_the_queue() -> None:
    """The autoscaler of the workers asks for a metric that a service with a queue has, and for the right pods."""
    labels = of_kind("Deployment", "worker")["spec"]["template"]["metadata"]["labels"]
    assert of_kind("Deployment", "worker")["spec"]["selector"]["matchLabels"] == labels
    assert "replicas" not in of_kind("Deployment", "worker")["spec"]
    scaler = of_kind("HorizontalPodAutoscaler", "worker")["spec"]
    assert (scaler["scaleTargetRef"]["kind"], scaler["scaleTargetRef"]["name"]) == ("Deployment", "worker")
    asked = scaler["metrics"][0]["external"]["metric"]["name"]
    server = RealServer()
    server.start()
    settings = Settings(log_level="ERROR", queue_url=server.address.url)
    try:
        with TestClient(create_app(settings), base_url="http://127.0.0.1:8000") as client:
            assert f"\n{asked} 0.0" in client.get("/metrics").text
            client.post("/v1/jobs", content=b"{}", headers={"content-type": "application/jsonl"})
            assert f"\n{asked} 1.0" in client.get("/metrics").text
            server.kill()
            assert f"\n{asked} NaN" in client.get("/metrics").text
    finally:
        server.close()


def test_only_planners_reach_the_catalog_server() -> None:
    """Nothing is let through by default; the catalog server hears planners alone and speaks to nobody."""
    policies = {
        policy["metadata"]["name"]: policy["spec"]
        for policy in documents()
        if policy["kind"] == "NetworkPolicy"
    }
    assert policies["default-deny"] == {"podSelector": {}, "policyTypes": ["Ingress", "Egress"]}
    (heard,) = policies["redis"]["ingress"]
    assert heard["from"] == [{"podSelector": policies["planner"]["podSelector"]}]
    assert "egress" not in policies["redis"]
    (heard,) = policies["queue"]["ingress"]
    assert heard["from"] == [{"podSelector": policies[name]["podSelector"]} for name in ("planner", "worker")]
    assert "egress" not in policies["queue"]
    assert "ingress" not in policies["worker"]
    (calls,) = policies["planner"]["ingress"]
    assert [port["port"] for port in calls["ports"]] == [planner()["ports"][0]["name"]]


@pytest.mark.parametrize("server", ["redis", "queue"])
def test_a_server_fits_into_its_container(server: str) -> None:
    """Its data may take at most half of the memory that its container has; copying for the disk takes the rest."""
    (container,) = of_kind("StatefulSet", server)["spec"]["template"]["spec"]["containers"]
    limits = [container["resources"]["limits"]["memory"]]
    limits.append(compose()["services"][server]["deploy"]["resources"]["limits"]["memory"])
    assert all(2 * size(redis_options(server)["maxmemory"]) <= size(limit) for limit in limits)


def test_the_queue_refuses_rather_than_forgets() -> None:
    """Under its options, a full queue says no, what it said yes to is still there after a crash, and jobs all fit in."""
    kept = {
        name: value
        for name, value in redis_options("queue").items()
        if name not in {"bind", "dir", "maxmemory"}
    }
    jobs = Settings.model_fields["job_bytes"].default * Settings.model_fields["jobs"].default
    assert size(redis_options("queue")["maxmemory"]) >= jobs  # one dealer's, at the most that it may hold
    options = [word for name, value in kept.items() for word in (f"--{name}", value)]
    server = RealServer(*options, "--maxmemory", "8mb")
    server.start()
    try:
        taken = 0
        with server.client() as client, suppress(redis.exceptions.OutOfMemoryError):
            for taken in range(100):
                client.set(f"chunk:{taken}", b"x" * 200_000, ex=600)
        server.kill()
        server.start()
        with server.client() as client:
            assert 10 < client.dbsize() == taken < 50
    finally:
        server.close()


def test_a_full_catalog_server_keeps_what_has_no_lifetime() -> None:
    """Under the options of the catalog server, what has a lifetime makes room, and the rest stays and is written to."""
    kept = {
        name: value for name, value in redis_options().items() if name not in {"bind", "dir", "maxmemory"}
    }
    options = [word for name, value in kept.items() for word in (f"--{name}", value)]
    server = RealServer(*options, "--maxmemory", "8mb")
    server.start()
    try:
        with server.client() as client:
            client.set("catalog", "kept")
            for number in range(100):
                client.set(f"plan:{number}", b"x" * 200_000, ex=600)
            client.set("another catalog", "kept as well")
            assert client.mget("catalog", "another catalog") == [b"kept", b"kept as well"]
            assert 3 < client.dbsize() < 50
    finally:
        server.close()


def test_alerts_ask_for_metrics_that_the_service_has() -> None:
    """Every metric, route and label of an alert occurs in the service's metrics."""
    groups = yaml.safe_load((DEPLOY / "alerts.yaml").read_text(encoding="utf-8"))["groups"]
    asked = " ".join(rule["expr"] for group in groups for rule in group["rules"])
    with TestClient(create_app(Settings(log_level="ERROR")), base_url="http://127.0.0.1:8000") as client:
        client.post("/v1/plans", json={})
        client.get("/v1/catalogs/demo")
        told = client.get("/metrics").text
    names = set(re.findall(r"shin_wall_\w+", asked))
    assert names
    assert all(f"{name}{{" in told for name in names)
    for label in set(re.findall(r"(\w+)=~?\"", asked)):
        assert f'{label}="' in told
    for route in set(re.findall(r"route=~?\"([^\"]+)\"", asked)):
        assert re.search(f'route="{route}"', told)


def test_every_manifest_is_put_together() -> None:
    """No manifest lies beside the others without being applied."""
    files = {path.name for path in CLUSTER.glob("*.yaml")} - {"kustomization.yaml"}
    assert files == set(kustomization()["resources"])


def test_every_file_of_the_service_is_installed() -> None:
    """What is not Python is named in the package's data, or an image would lack it."""
    setup = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["tool"]["setuptools"]
    named = {
        path
        for package, patterns in setup["package-data"].items()
        for pattern in patterns
        for path in ROOT.joinpath(*package.split(".")).glob(pattern)
    }
    lying = {
        path
        for path in (ROOT / "service").rglob("*")
        if path.is_file() and path.suffix not in {".py", ".pyc"} and "__machine_code__" not in path.parts
    }
    assert lying
    assert lying <= named
