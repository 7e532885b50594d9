"""The planner: the list rule, the solver, their checker and their exhaustive search."""
