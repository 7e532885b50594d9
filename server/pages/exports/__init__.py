"""What the page of exports is made of: the tables that can be taken away, and handing them out."""
