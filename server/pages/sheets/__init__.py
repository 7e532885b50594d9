"""The paper sheet of a ward: on which the work goes on by hand while the screen is away."""
