"""Tests of the service: store."""
