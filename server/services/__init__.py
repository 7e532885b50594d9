"""Use cases, one a file: each takes a session, the actor and the instant, and answers values."""
