"""The nurse work that the ward's units still ask for, and whether the people there can do it."""
