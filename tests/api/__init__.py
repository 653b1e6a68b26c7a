"""Tests of the service: api."""
