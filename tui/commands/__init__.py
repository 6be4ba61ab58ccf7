"""One command a file; each imports what it needs when it runs."""
