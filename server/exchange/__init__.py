"""Files and messages of other programs, to and from the services."""
