"""The version of the service and of its contract."""

from typing import Final

VERSION: Final = "1.0.0"
"""Additive changes raise the middle number; answers are kept under it, so that a new version makes its own"""
