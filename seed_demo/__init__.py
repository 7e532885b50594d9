"""An invented ward on an invented day, told relative to now."""
