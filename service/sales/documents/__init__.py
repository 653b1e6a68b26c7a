"""Documents of an order: tables and UBL, from plain values to bytes."""
