"""The synthetic rig: one hidden state, honest sensors, scripted trouble, truth per second."""
