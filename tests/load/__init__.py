"""Bounded loads on the loopback, each a command of its own: what an outage does to plans, and what a worker can carry."""
