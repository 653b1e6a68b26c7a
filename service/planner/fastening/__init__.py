"""What the walk over the fastening rules table asks: which places, which layers, which screw."""
