"""The checks of a plan, one module for each family; the table of them stands in ``checks.py``."""
