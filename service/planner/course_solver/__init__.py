"""How the joint solver works inside: sections, pieces, slots, patterns, program, search, realised pieces."""
