"""What to buy: take-off, packs and prices."""
