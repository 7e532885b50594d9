"""The review as a page: what was kept, whether it changes, how long it takes, and beside what."""
