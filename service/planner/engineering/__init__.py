"""Formulae and tables of the engineering behind checks and details, in SI units, each beside its clause."""
