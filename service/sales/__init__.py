"""What is sold: signed quotes, combined orders and their documents. Plain values in, bytes out; no HTTP, no clock, no store."""
