"""What the page of an identity check shows, and how what was entered on it is read."""
