"""Which screw goes where, through which layers, into which hole."""
