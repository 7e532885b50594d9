"""The steps that brought the schema to where it is, oldest first."""
