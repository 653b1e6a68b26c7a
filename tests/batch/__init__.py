"""Tests of the service: batches."""
