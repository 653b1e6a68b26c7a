"""Many structures: lines or rows in, a line or row a structure out, planned by processes of their own."""
