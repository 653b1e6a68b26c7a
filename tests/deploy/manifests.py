"""Reads the manifests and the compose file as plain values."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import yaml

from tests.load.running import ROOT

DEPLOY = ROOT / "deploy"
"""The deployment files"""
CLUSTER = DEPLOY / "cluster"
"""The manifests"""


def kustomization() -> dict[str, Any]:
    """Read what the manifests are put together from."""
    return dict(yaml.safe_load((CLUSTER / "kustomization.yaml").read_text(encoding="utf-8")))


def compose() -> dict[str, Any]:
    """Read the compose file."""
    return dict(yaml.safe_load((DEPLOY / "compose.yaml").read_text(encoding="utf-8")))


def documents() -> list[dict[str, Any]]:
    """Read every manifest."""
    texts = [(CLUSTER / name).read_text(encoding="utf-8") for name in kustomization()["resources"]]
    return [document for text in texts for document in yaml.safe_load_all(text)]


def of_kind(kind: str, name: str = "planner") -> dict[str, Any]:
    """The one manifest of a kind and name."""
    (found,) = [
        document
        for document in documents()
        if (document["kind"], document["metadata"]["name"]) == (kind, name)
    ]
    return found


def pods() -> Iterator[dict[str, Any]]:
    """The specification of every pod."""
    for document in documents():
        if document["kind"] in {"Deployment", "StatefulSet"}:
            yield document["spec"]["template"]["spec"]


def planner() -> dict[str, Any]:
    """The service's container."""
    (container,) = of_kind("Deployment")["spec"]["template"]["spec"]["containers"]
    return dict(container)


def probe_paths() -> list[str]:
    """The addresses that the probes ask for."""
    return [planner()[f"{probe}Probe"]["httpGet"]["path"] for probe in ("startup", "liveness", "readiness")]
