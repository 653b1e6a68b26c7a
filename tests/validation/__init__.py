"""Tests of the service: validation."""
