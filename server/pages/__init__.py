"""HTML: pure view functions that make a screen of what the services answer, and its routes."""
