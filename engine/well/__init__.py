"""Numbers of the well on paper: volumes, hydraulics, well control, hoisting; pure functions."""
