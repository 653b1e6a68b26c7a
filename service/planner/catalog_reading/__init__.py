"""Reading a catalog document: its fields, its sizes, and how a rule sees it."""
