"""The HTTP edge: routers, schemas and problem answers."""
