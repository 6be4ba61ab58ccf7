"""Detectors: from the channels to a call, one file for each kind of trouble."""
