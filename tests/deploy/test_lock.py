"""The lock: set-up and image install the very versions that the tests have passed with."""

from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

from tests.deploy.lock import asked, locked
from tests.load.running import ROOT

LOCK = (ROOT / "deploy" / "lock.txt").read_text(encoding="utf-8").split()


def test_everything_asked_for_is_locked_to_a_version_that_is_asked_for() -> None:
    """A package added to the project is added to the lock."""
    versions = dict(line.split("==") for line in LOCK)
    for line in asked():
        needed = Requirement(line)
        assert needed.specifier.contains(versions[canonicalize_name(needed.name)]), line


def test_what_is_installed_is_what_is_locked() -> None:
    """The tests run with the versions of the lock and no others."""
    assert set(locked()) <= set(LOCK)


def test_set_up_and_image_use_the_lock() -> None:
    """Both ways to install the service name it."""
    for name in ("environment", "Containerfile"):
        assert "--constraint deploy/lock.txt" in (ROOT / "deploy" / name).read_text(encoding="utf-8"), name
