"""Tests of quotes, orders and their documents."""
