"""The shin wall planning service."""
