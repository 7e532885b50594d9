"""An invented ward on an invented day, told relative to now, and nurses who act it out.

Nobody here lives and nothing here exists: people, ward and place are made up, and the unit
numbers come from the range that is kept for trying things out.
"""
