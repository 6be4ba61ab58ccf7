"""How good the detectors are: cases, matching, figures and the page, all without files."""
