"""The checks of a plan, one module for each family; ``table.py`` lists them all."""
