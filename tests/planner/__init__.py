"""Tests of the service: planner."""
