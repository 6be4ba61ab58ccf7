"""Journal lines, their codec, and the reports that read a recording."""
