"""Layout and cutting at least cost; knows lengths and prices, nothing of the wall."""
