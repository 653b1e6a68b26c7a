"""Cutting of a fixed demand at proven least cost; ``cut_lists.py`` is the door."""
