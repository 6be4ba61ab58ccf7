"""The synthetic rig: one hidden state, honest sensors, scripted trouble, and its truth."""
