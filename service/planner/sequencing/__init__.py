"""The order of work: precedence tables, words of the steps, and what each step uses."""
