"""The plan of a ward, made ready to be shown: one axis of time, people, units, worth, versions."""
