"""What the screens of breaches are drawn from."""
