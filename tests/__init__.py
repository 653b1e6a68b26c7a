"""Tests of the shin wall planning service."""
