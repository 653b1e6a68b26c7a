"""Tests of the form: its script, its page, and both in a real browser."""
