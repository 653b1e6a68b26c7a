"""Every deployment file passes the linters of its kind, and each linter is seen to refuse a bad file."""

from __future__ import annotations

import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from tests.deploy.manifests import CLUSTER, DEPLOY, kustomization
from tests.load.running import ROOT

TOOLS = Path(sys.executable).parent
"""Where the linters are installed"""
KUBERNETES = "1.34"
"""Version of the cluster's interface that the manifests are held to [-]"""
SCRIPTS = ("start", "test", "environment")
MANIFESTS = [str(CLUSTER / name) for name in kustomization()["resources"]]

HADOLINT = ("hadolint", "--failure-threshold", "style")
YAMLLINT = ("yamllint", "--strict", "--config-file", str(DEPLOY / ".yamllint"))
SHELLCHECK = ("shellcheck", "--external-sources")
KUBE = ("kubernetes-validate", "--strict", "--kubernetes-version", KUBERNETES)
COMPOSE = ("docker-compose", "--env-file", str(DEPLOY / ".env.example"), "--file")
SCHEMA = ("check-jsonschema", "--builtin-schema", "vendor.compose-spec")

CLEAN = {
    "container file": (*HADOLINT, str(DEPLOY / "Containerfile")),
    "yaml": (*YAMLLINT, str(DEPLOY)),
    "scripts": (*SHELLCHECK, *(str(DEPLOY / name) for name in SCRIPTS)),
    "manifests": (*KUBE, *MANIFESTS),
    "compose": (*COMPOSE, str(DEPLOY / "compose.yaml"), "config", "--quiet"),
    "compose schema": (*SCHEMA, str(DEPLOY / "compose.yaml")),
}
BAD = {
    "container file": (HADOLINT, "FROM python:latest\nRUN cd /tmp && apt-get install curl\n"),
    "yaml": (YAMLLINT, "a: 1\na: 2\n"),
    "scripts": (SHELLCHECK, '#!/bin/sh\n. ./other "argument"\n'),
    "manifests": (
        KUBE,
        "apiVersion: v1\nkind: Service\nmetadata: {name: a}\nspec: {ports: [{port: many}]}\n",
    ),
    "compose schema": (SCHEMA, "services: {a: {image: b, read_only: 3}}\n"),
}


def run(*line: str) -> subprocess.CompletedProcess[str]:
    """Run a tool in the project's folder."""
    return subprocess.run([TOOLS / line[0], *line[1:]], cwd=ROOT, capture_output=True, text=True, check=False)


@pytest.mark.parametrize("what", CLEAN)
def test_nothing_to_complain_about(what: str) -> None:
    """The linter has nothing to say."""
    done = run(*CLEAN[what])
    assert done.returncode == 0, done.stdout + done.stderr


@pytest.mark.parametrize("what", BAD)
def test_a_bad_file_is_refused(what: str, tmp_path: Path) -> None:
    """The linter as it is called here refuses a file with one thing wrong."""
    line, text = BAD[what]
    (tmp_path / "bad.yaml").write_text(text, encoding="utf-8")
    assert run(*line, str(tmp_path / "bad.yaml")).returncode != 0


def test_compose_refuses_to_start_without_its_secrets(tmp_path: Path) -> None:
    """Passwords have no defaults: without them the compose file is not even read."""
    nothing = tmp_path / "nothing"
    nothing.touch()
    done = run(
        "docker-compose", "--env-file", str(nothing), "--file", str(DEPLOY / "compose.yaml"), "config", "-q"
    )
    assert done.returncode != 0
    assert "REDIS_PASSWORD" in done.stderr


@pytest.mark.skipif(shutil.which("kubectl") is None, reason="kubectl is not installed here")
def test_the_manifests_are_put_together(tmp_path: Path) -> None:
    """What kustomize makes of the manifests is valid, names the settings by their content, and has one image version."""
    made = subprocess.run(
        ["kubectl", "kustomize", str(CLUSTER)], capture_output=True, text=True, check=True, timeout=60
    ).stdout
    (tmp_path / "made.yaml").write_text(made, encoding="utf-8")
    done = run(*KUBE, str(tmp_path / "made.yaml"))
    assert done.returncode == 0, done.stdout + done.stderr
    assert "image: shin-wall-planner:1.0.0" in made
    assert made.count("name: planner-") == 3  # the map of settings, and the two that refer to it
