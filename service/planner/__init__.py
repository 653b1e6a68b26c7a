"""The planner: pure functions over exact integers; no input or output of any kind."""
