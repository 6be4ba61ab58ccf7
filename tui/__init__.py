"""The screens and the command line."""
