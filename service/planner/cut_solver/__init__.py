"""How a cut list is solved and proved: patterns, prices, dives and the exact last step."""
