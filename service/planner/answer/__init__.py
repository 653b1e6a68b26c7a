"""The plan on the wire: its shapes and how they are filled."""
