"""Linear programs of a few hundred rows, and branch and bound over them: ``model`` states one, ``relaxation`` solves it."""
