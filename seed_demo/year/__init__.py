"""A past, lived at speed: months of an invented hospital, fact by fact, for whoever reviews it."""
