"""Joints and cutting of a course decided together; ``least_cost.py`` is the door."""
