"""The precedence tables of the order of work, their words, and what each step uses."""
