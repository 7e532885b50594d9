"""The start planner on OR-Tools CP-SAT: takes a problem, answers a proposal. No clock, no store."""
